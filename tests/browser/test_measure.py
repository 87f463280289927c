"""From measurements: a wall drawn as one types, what is missing asked for, then planned like any list."""

from __future__ import annotations

from playwright.sync_api import Browser, Page, expect

from tests.browser.steps import order_shown, plan, stock
from tests.browser.test_accessibility import violations
from tests.browser.test_ways import fits
from tests.support.chromium import PHONE, opened


def measure(page: Page) -> None:
    """Type in a wall of the shed, 22'-6" by 93 in, an outside post at its left, a channel at its right."""
    sizes = {"exposure": "8", "face": "3/4", "w0-id": "west", "w0-width": "22' 6\"", "w0-height": "93"}
    for name, value in sizes.items():
        page.locator(f"#{name}").fill(value)
    page.locator("#w0-right").select_option("channel")


def draw_a_door(page: Page) -> None:
    """Add a door of 64 by 83 in, 54 in from the left."""
    page.locator("#w0-add-door").click()
    for name, value in (("left", "54"), ("width", "64"), ("height", "83")):
        page.locator(f"#w0-o0-{name}").fill(value)


def test_a_wall_is_drawn_as_one_types(page: Page) -> None:
    """What the post takes up is asked for; once said, the elevation is there, and grows a door while one types."""
    page.goto("/measure")
    measure(page)
    expect(page.locator("#doubts")).to_contain_text("Wall west, post depth at left: give the depth of the post")
    page.locator("#w0-left_takes_up").fill("1/2")
    expect(page.locator("#drawn")).to_contain_text("How wall west was worked out: 12 courses")
    draw_a_door(page)
    expect(page.locator("#drawn svg")).to_contain_text("D1")
    expect(page.locator("#drawn svg")).to_contain_text("4'-5 1/2\"")


def test_a_doubt_keeps_the_last_drawing(page: Page) -> None:
    """A door that sticks out of the wall is named; the drawing from before stays, paler."""
    page.goto("/measure")
    measure(page)
    page.locator("#w0-left_takes_up").fill("1/2")
    draw_a_door(page)
    expect(page.locator("#drawn svg")).to_contain_text("D1")
    page.locator("#w0-o0-left").fill("280")
    expect(page.locator("#doubts")).to_contain_text("door D1 reaches")
    expect(page.locator("#drawn")).to_have_attribute("data-old", "")
    expect(page.locator("#drawn svg")).to_contain_text("D1")


def test_from_measurements_to_an_order(page: Page) -> None:
    """Roles without a material are offered; the plan orders panels and starter and shows where each piece hangs."""
    page.goto("/measure")
    measure(page)
    page.locator("#w0-left_takes_up").fill("1/2")
    draw_a_door(page)
    page.get_by_role("button", name="Set up starter strip").click()
    expect(page.locator("#m1-s0-length")).to_be_focused()
    stock(page, 0, 0, "12' 6\"", "9.80")
    stock(page, 1, 0, "10'", "4.10")
    plan(page)
    expect(page.locator(".order")).to_contain_text("starter strip")
    expect(page.locator(".walls svg").first).to_contain_text("Lap map: wall west")
    # the post, the channel at the right end and around the door, and the trim below the soffit have no material
    for missing in ("J-channel", "outside corner post", "utility trim"):
        expect(page.locator(".order .note")).to_contain_text(missing)


def test_measurements_without_javascript(plain: Page) -> None:
    """Draw, add an opening, plan: each is a form."""
    plain.goto("/measure")
    measure(plain)
    plain.locator("#w0-left_takes_up").fill("1/2")
    plain.get_by_role("button", name="Draw", exact=True).click()
    expect(plain.locator("#drawn svg")).to_be_visible()
    draw_a_door(plain)
    stock(plain, 0, 0, "12' 6\"", "9.80")
    plain.locator("#plan").click()
    order_shown(plain)


def test_measurements_on_a_phone_and_for_everybody(browser: Browser, counter: str) -> None:
    """Nothing is wider than a phone, and axe-core finds nothing, empty, in doubt and drawn."""
    with opened(browser, counter, viewport=PHONE, color_scheme="dark") as page:
        page.goto("/measure")
        assert violations(page) == []
        measure(page)
        expect(page.locator("#doubts")).to_contain_text("give the depth")
        assert violations(page) == []
        page.locator("#w0-left_takes_up").fill("1/2")
        expect(page.locator("#drawn svg")).to_be_visible()
        page.locator("#drawn summary").first.click()
        assert violations(page) == []
        fits(page)
