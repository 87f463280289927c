"""From measurements: a wall drawn as one types, what is missing asked for, then planned like any list."""

from __future__ import annotations

from copy import deepcopy

from playwright.sync_api import Browser, Page, expect

from tests.browser.steps import fits, order_shown, plan, stock
from tests.browser.test_accessibility import violations
from tests.support.chromium import PHONE, opened
from tests.support.measured import MEASURED
from tests.support.stack import Stack


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
    expect(page.locator("#doubts")).to_contain_text("Wall west, left end, post depth: give the depth of the post")
    page.locator("#w0-left_takes_up").fill("1/2")
    expect(page.locator("#drawn")).to_contain_text("How wall west was worked out: 12 courses")
    draw_a_door(page)
    expect(page.locator("#drawn svg").first).to_contain_text("D1")
    expect(page.locator("#drawn svg").first).to_contain_text("4'-5 1/2\"")


def test_a_doubt_leaves_the_outline(page: Page) -> None:
    """A door that sticks out of the wall is named and drawn where it was measured; the other wall keeps its courses."""
    page.goto("/measure")
    measure(page)
    page.locator("#w0-left_takes_up").fill("1/2")
    draw_a_door(page)
    page.locator("#w0-copy").click()
    expect(page.locator("#w1-id")).to_be_focused()
    expect(page.locator("#drawn")).to_contain_text("How wall 2 was worked out: 12 courses")
    page.locator("#w0-o0-left").fill("280")
    expect(page.locator("#doubts")).to_contain_text("Wall west: door D1 reaches")
    expect(page.locator("#drawn svg").first).to_contain_text("Outline of wall west")
    expect(page.locator("#drawn svg").first).to_contain_text("D1")
    expect(page.locator("#drawn")).to_contain_text("How wall 2 was worked out: 12 courses")


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
        expect(page.locator(".order .besides")).to_contain_text(f"{missing}: ")


def test_measurements_without_javascript(plain: Page) -> None:
    """Draw, add an opening, plan: each is a form."""
    plain.goto("/measure")
    measure(plain)
    plain.locator("#w0-left_takes_up").fill("1/2")
    plain.get_by_role("button", name="Draw", exact=True).click()
    expect(plain.locator("#drawn svg").first).to_be_visible()
    draw_a_door(plain)
    stock(plain, 0, 0, "12' 6\"", "9.80")
    plain.locator("#plan").click()
    order_shown(plain)


def test_a_measured_plan_is_changed_and_planned_again(page: Page, serving: Stack) -> None:
    """What was posted opens as it was, corners and uses too; one figure is changed, and all else is kept."""
    plan_id = serving.client.post("/v1/takeoffs?plan=true", json=MEASURED).json["id"]
    page.goto(f"/plans/{plan_id}")
    order_shown(page)
    page.get_by_role("link", name="Change these measurements").click()
    expect(page.locator("#w0-left_corner")).to_have_value("north-west")
    expect(page.locator("#w1-p3-up")).to_have_value("165")
    page.locator("#w0-o1-left").fill("150")
    plan(page)
    again = page.url.rpartition("/")[2].partition("?")[0]
    changed = deepcopy(MEASURED)
    changed["walls"][0]["openings"][1]["from"] = "150"
    assert serving.client.get(f"/v1/cut-plans/{again}/measured").json == changed


def test_all_that_is_wrong_is_told_at_once(page: Page) -> None:
    """A length that is none, a post without its depth, a door outside the wall and no stock: each with its place."""
    page.goto("/measure")
    measure(page)
    draw_a_door(page)
    page.locator("#w0-o0-left").fill("280")
    page.locator("#add-ceiling").click()
    page.locator("#c0-length").fill("twelve")
    page.locator("#plan").click()
    expect(page.locator("#faults")).to_be_focused()
    for words in (
        "Wall west, left end, post depth: give the depth",
        "Wall west: door D1 reaches",
        "Ceiling 1, length: ",
        "Ceiling 1, width: is missing",
        "Soffit coverage width: soffit needs its coverage width",
        "In which lengths is siding panel sold?",
    ):
        expect(page.locator("#faults")).to_contain_text(words)
    expect(page.locator("#w0-o0-left")).to_have_value("280")
    assert violations(page) == []


def test_corner_by_corner(page: Page) -> None:
    """A gable becomes five corners; one more makes a slope's break, and the drawing numbers them while a post lacks."""
    page.goto("/measure")
    measure(page)
    page.locator("#w0-peak").fill("165")
    page.locator("#w0-outline").click()
    expect(page.locator("#w0-p0-along")).to_be_focused()
    expect(page.locator("#w0-p3-along")).to_have_value("11'-3\"")
    page.locator("#w0-p2-insert").click()
    expect(page.locator("#w0-p3-along")).to_be_focused()
    page.locator("#w0-p3-along").fill("216")
    page.locator("#w0-p3-up").fill("140")
    expect(page.locator("#drawn svg")).to_contain_text("Outline of wall west")
    expect(page.locator("#drawn svg")).to_contain_text("6")
    page.locator("#w0-left_takes_up").fill("1/2")
    expect(page.locator("#drawn")).to_contain_text("How wall west was worked out: 21 courses")


def test_measurements_on_a_phone_and_for_everybody(browser: Browser, counter: str) -> None:
    """Nothing is wider than a phone, and axe-core finds nothing, empty, in doubt and drawn."""
    with opened(browser, counter, viewport=PHONE, color_scheme="dark") as page:
        page.goto("/measure")
        assert violations(page) == []
        measure(page)
        expect(page.locator("#doubts")).to_contain_text("give the depth")
        assert violations(page) == []
        page.locator("#w0-left_takes_up").fill("1/2")
        expect(page.locator("#drawn svg").first).to_be_visible()
        page.locator("#drawn summary").first.click()
        assert violations(page) == []
        fits(page)
