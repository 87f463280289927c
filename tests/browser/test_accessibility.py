"""Every state of the page is held against axe-core's rules (WCAG 2.2 A and AA, and best practice)."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.steps import MESSY, SHED, paste, plan_shed, settle_messy, stock
from tests.support.chromium import DESKTOP, PHONE, opened, served
from tests.support.stack import stack


def violations(page: Page) -> list[str]:
    """Return what axe-core finds, as rule and element."""
    page.wait_for_load_state()
    found = Axe().run(page).response["violations"]
    return [f"{rule['id']}: {node['target']} {node['failureSummary']}" for rule in found for node in rule["nodes"]]


def empty(page: Page) -> None:
    """Leave the page as it opens."""
    expect(page.locator("#text")).to_be_visible()


def asked(page: Page) -> None:
    """Have the list read, with its questions open and a line to put right."""
    paste(page, MESSY)
    expect(page.locator(".question")).to_have_count(2)


def settled(page: Page) -> None:
    """Answer everything; open the allowances and a row of left-overs."""
    paste(page, MESSY)
    settle_messy(page)
    page.locator("#add-offcut").click()
    page.locator("#m0-settings summary").click()


def faulty(page: Page) -> None:
    """Plan too early."""
    paste(page, SHED)
    stock(page, 0, 0, "10-6", "cheap")
    page.locator("#plan").click()
    expect(page.locator("#faults")).to_be_visible()


def ordered(page: Page) -> None:
    """Show the order, with its text."""
    plan_shed(page)
    page.get_by_text("The order as text").click()


def refused(page: Page) -> None:
    """Switch off the only length that is long enough, beside what it takes alone."""
    paste(page, "4 @ 14'\n4 @ 8'")
    page.locator("#m0-category").select_option("soffit")
    expect(page.locator("#m0 legend")).to_have_text("soffit panel")
    stock(page, 0, 0, "16'")
    stock(page, 0, 1, "12'")
    page.locator("#plan").click()
    page.get_by_role("button", name="Plan it other ways").click()
    expect(page.locator(".alternatives tbody tr")).to_have_count(2)
    page.get_by_role("button", name="Out of stock 16'-0\"").click()
    expect(page.locator("#faults")).to_be_visible()


def feet_or_inches(page: Page) -> None:
    """Type a stock length without its unit."""
    page.locator("#m0-s0-length").fill("12")
    page.locator("#m0-s0-length").press("Tab")
    expect(page.get_by_role("button", name="12 ft")).to_be_visible()


def called_off(page: Page) -> None:
    """Show an order that is called off, with its particulars open to be changed and a what-if that can't be."""
    page.locator("#customer").fill("Dana Whitlock")
    plan_shed(page)
    page.get_by_role("button", name="Call the order off").click()
    page.get_by_role("button", name="Only so many there").click()
    expect(page.locator("#faults")).to_be_visible()
    page.get_by_text("Change for whom").click()


def found_again(page: Page) -> None:
    """Find the order, and a day without one; what is begun and the last plans are at hand."""
    called_off(page)
    page.goto("/plans?q=dana")
    expect(page.locator(".plans tbody tr").first).to_be_visible()


def at_hand(page: Page) -> None:
    """Leave a list half typed, and come again."""
    called_off(page)
    page.goto("/")
    paste(page, SHED)
    page.goto("/plans")
    page.goto("/")
    expect(page.locator("#begun")).to_be_visible()


def settings(page: Page) -> None:
    """Type a tax that is none."""
    page.goto("/settings")
    page.locator("#tax_percent").fill("much")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#faults")).to_be_visible()


def price_list(page: Page) -> None:
    """Take a broken price list in beside a material with a price to come."""
    batten = {"id": "10", "length": 120, "price": "9.80"}
    stock = [batten, {**batten, "price": "10.20", "from": "2030-01-01"}]
    page.request.put("/v1/materials/batten-umber", data={"units": "in", "category": "vertical", "stock": stock})
    page.goto("/materials")
    page.locator("#file").set_input_files(
        {"name": "list.csv", "mimeType": "text/csv", "buffer": b"Material,Type,Length\nmine,siding,x\n"}
    )
    page.get_by_role("button", name="Take in").click()
    expect(page.locator("#faults")).to_be_visible()
    page.request.delete("/v1/materials/batten-umber")


def material(page: Page) -> None:
    """Type a price that is none, with everything open."""
    page.goto("/material")
    page.locator("#s0-price").fill("much")
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator("#faults")).to_be_visible()
    page.get_by_text("Laps, gaps and rules").click()
    page.get_by_text("More of length 1").click()


def lost(page: Page) -> None:
    """Go where nothing is."""
    page.goto("/orders")
    expect(page.get_by_role("link", name="Back to the list")).to_be_visible()


def documentation(page: Page) -> None:
    """Read a page of the documentation, with tables and code."""
    page.goto("/docs/running")
    expect(page.get_by_role("heading", name="What may change")).to_be_visible()


def ticked(page: Page) -> None:
    """Tick a piece on the list of a plan."""
    plan_shed(page)
    page.get_by_role("link", name="List to tick").click()
    page.locator("#saw .tick").first.click()
    expect(page.locator("#saw .tick").first).to_have_attribute("aria-pressed", "true")


def one_piece(page: Page) -> None:
    """Look at one piece."""
    ticked(page)
    page.locator("#saw li a").first.click()
    expect(page.get_by_role("button", name="miscut")).to_be_visible()


def on_the_rack(page: Page) -> None:
    """Put two alike on the rack, then one without a length."""
    page.goto("/rack")
    for length in ("61 1/2", ""):
        page.locator("#material").fill("tern panel")
        page.locator("#length").fill(length)
        page.locator("#count").fill("2")
        page.get_by_role("button", name="Put it there").first.click()
        expect(page.locator("#faults" if not length else "[role=status]")).to_be_visible()
    expect(page.locator(".rack li").first).to_be_visible()


def the_rest(page: Page) -> None:
    """Report a stick that the plan has not."""
    plan_shed(page)
    page.get_by_role("link", name="Something broke").click()
    page.locator("#broken").fill("S99")
    page.get_by_role("button", name="Plan the rest").click()
    expect(page.locator("#faults")).to_be_visible()


STATES: tuple[Callable[[Page], None], ...] = (
    empty, asked, settled, faulty, ordered, refused, feet_or_inches, called_off, found_again, at_hand, settings,
    price_list, material, lost, documentation, ticked, one_piece, on_the_rack, the_rest,
)  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("state", STATES, ids=lambda state: state.__name__)
def test_no_violation(browser: Browser, counter: str, state: Callable[[Page], None], scheme: str) -> None:
    """Nothing is found wide and light, nor narrow and dark."""
    size = DESKTOP if scheme == "light" else PHONE
    with opened(browser, counter, color_scheme=scheme, viewport=size) as page:
        page.goto("/")
        state(page)
        assert violations(page) == []


def test_no_violation_where_one_signs_in(browser: Browser, tmp_path: Path) -> None:
    """With a wrong key, then signed in."""
    keys = {sha256(b"harbour-key").hexdigest(): "harbour"}
    with (
        stack(tmp_path / "data", api_keys=keys) as locked,
        served(locked.app) as address,
        opened(browser, address, viewport=PHONE) as page,
    ):
        page.goto("/sign-in")
        page.locator("#key").fill("harbour")
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("alert")).to_be_visible()
        assert violations(page) == []
        page.locator("#key").fill("harbour-key")
        page.locator("#name").fill("R. Tern")
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("button", name="Sign out")).to_be_visible()
        assert violations(page) == []
        page.get_by_role("button", name="Sign out").click()
        expect(page.locator("#key")).to_be_visible()


def test_no_violation_while_waiting(browser: Browser, slow: str) -> None:
    """Nor is anything found while the work goes on."""
    with opened(browser, slow) as page:
        page.goto("/")
        paste(page, SHED)
        stock(page, 0, 0, "12' 6\"", "9.80")
        page.locator("#job").fill("hang")
        page.locator("#plan").click()
        expect(page.locator("#cost")).to_have_text("60.00")
        assert violations(page) == []
        page.get_by_role("button", name="Stop and use").click()


def test_no_violation_on_a_problem_page(browser: Browser, counter: str) -> None:
    """Nor on the page for an address that leads nowhere."""
    with opened(browser, counter) as page:
        page.route("**/counter/mark.svg", lambda route: route.abort())
        page.set_content(page.request.get("/plans/0000").text())
        assert violations(page) == []
