"""The list to tick on a phone: by one thumb, without a connection, and by two people at once."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.steps import fits
from tests.support.chromium import PHONE, opened
from tests.support.shed import SHED
from tests.support.stack import Stack, eventually
from workers.orders.ticks import Ticks

PHONE_LIKE = {"viewport": PHONE, "has_touch": True, "is_mobile": True}


@pytest.fixture(scope="module")
def planned(serving: Stack) -> str:
    """Return the id of the shed's plan."""
    return serving.posted(SHED, Prefer="wait=30")


def states(serving: Stack, plan: str) -> dict[str, str]:
    """Return what the plan's record says of the pieces that were ticked."""
    return {piece: str(tick.state) for piece, tick in Ticks(serving.store.redis).of(plan).items()}


def tap(page: Page, piece: str) -> None:
    """Tick a piece at the saw."""
    page.locator(f"#saw [data-piece={piece}] .tick").tap()


def test_two_people_tick_and_one_loses_the_connection(
    browser: Browser, counter: str, serving: Stack, planned: str
) -> None:
    """What one ticks the other sees; what is ticked offline outlives a reload and is told once there is a network."""
    with opened(browser, counter, **PHONE_LIKE) as one, opened(browser, counter, **PHONE_LIKE) as other:
        for page in (one, other):
            page.goto(f"/plans/{planned}/list")
            expect(page.locator("#ticking")).to_have_attribute("data-kept", "yes")
        fits(one)
        box = one.locator("#saw [data-piece=S1-1] .tick").bounding_box()
        assert box
        assert box["height"] >= 48
        tap(one, "S1-1")
        expect(other.locator("#saw [data-piece=S1-1] .tick")).to_have_attribute("aria-pressed", "true", timeout=12_000)
        one.context.set_offline(True)
        tap(one, "S1-2")
        expect(one.locator("#said")).to_contain_text("1 tick waits on this phone")
        tap(other, "S2-1")
        # before the first one, whose network comes back, can tell of the same piece
        eventually(lambda: states(serving, planned).get("S2-1") == "cut")
        one.reload()
        expect(one.locator("#saw [data-piece=S1-2] .tick")).to_have_attribute("aria-pressed", "true")
        one.locator("#saw [data-piece=S2-1] .spoil").tap()
        one.context.set_offline(False)
        expect(one.locator("#said")).to_contain_text("by somebody else meanwhile")
        assert states(serving, planned) == {"S1-1": "cut", "S1-2": "cut", "S2-1": "cut"}
        one.get_by_role("button", name="Trim and loose").tap()
        one.locator("#wall-0 [data-piece=S1-1] .tick").tap()
        expect(one.locator("#wall-0 [data-piece=S1-1]")).to_have_attribute("data-state", "hung")


def test_a_tick_outlives_the_end_of_a_session(browser: Browser, counter: str, serving: Stack, planned: str) -> None:
    """Whoever has to sign in again is told so; the tick waits on the phone and is told to the plan afterwards."""
    with opened(browser, counter, **PHONE_LIKE) as page:
        page.goto(f"/plans/{planned}/list")
        page.route("**/ticks", lambda route: route.fulfill(status=401, body=""))
        tap(page, "S3-1")
        expect(page.locator("#said")).to_have_text("Load this page again to sign in. 1 tick waits on this phone.")
        page.unroute("**/ticks")
        page.reload()
        expect(page.locator("#said")).to_have_text("A tap ticks a piece, another takes the tick back.")
        eventually(lambda: page.evaluate(f"localStorage.getItem('lapstock-ticks-{planned}')") == "[]")
        assert states(serving, planned)["S3-1"] == "cut"


def test_a_page_of_a_large_list_counts_what_is_on_it(
    browser: Browser, counter: str, planned: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a page of twelve, as if fourteen were many: of the saw's list two are on the second, and it says so."""
    monkeypatch.setattr("service.counter.plan.ticking.MOST", 12)
    with opened(browser, counter, **PHONE_LIKE) as page:
        page.goto(f"/plans/{planned}/list?after=12")
        expect(page.locator("#saw .left")).to_have_text("2 open on this page")
