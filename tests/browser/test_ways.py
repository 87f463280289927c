"""Every way to use the page: by keyboard alone, on a phone, without JavaScript, in the dark, on white paper."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, Page, expect

from tests.browser.steps import MESSY, SHED, fits, order_shown, paste, plan, plan_shed, settle_messy, stock
from tests.support.chromium import opened

_MOST_TABS = 80


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until the element has the focus, not at all where it has it."""
    for _ in range(_MOST_TABS):
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab never reached {selector}")


def test_by_keyboard_alone(page: Page) -> None:
    """Paste, answer, put a line right, name a material, give lengths, plan, and go to the drawings: no pointer."""
    tab_to(page, "#text")
    page.keyboard.insert_text(MESSY)
    expect(page.locator("#said")).to_have_text("74 pieces read; 3 lines need a look.")
    tab_to(page, "[type=radio]")
    # from the first answer up is the last: feet and inches
    page.keyboard.press("ArrowUp")
    expect(page.locator("#said")).to_have_text("79 pieces read; 1 line needs a look.")
    tab_to(page, "#own-0")
    page.keyboard.press("Enter")
    expect(page.locator("#m1-s0-length")).to_be_focused()
    page.keyboard.insert_text("12' 6\"")
    tab_to(page, "#plan")
    page.keyboard.press("Enter")
    expect(page.locator("#faults")).to_be_focused()
    tab_to(page, "#fix-16")
    page.keyboard.press("Control+a")
    page.keyboard.insert_text("4 @ 60 [K]")
    page.keyboard.press("Enter")
    expect(page.locator("#said")).to_have_text("83 pieces read, every line clear.")
    tab_to(page, "#m0-s0-length")
    page.keyboard.insert_text("12' 6\"")
    tab_to(page, "#plan")
    page.keyboard.press("Enter")
    order_shown(page)
    tab_to(page, ".drawings")


def test_control_enter_plans_from_the_list(page: Page) -> None:
    """Who types the list need not leave it, nor who types a price; the list is where one begins."""
    expect(page.locator("#text")).to_be_focused()
    page.keyboard.insert_text(SHED)
    stock(page, 0, 0, "12' 6\"", "9.80")
    page.locator("#m0-s0-price").focus()
    page.keyboard.press("Control+Enter")
    order_shown(page)


def test_a_few_clicks_lead_to_paper_to_a_change_and_to_the_same_again(page: Page) -> None:
    """List, length, price, plan, paper: five. A change takes two, the same again one, and the last order two."""
    page.locator("#text").click()
    page.keyboard.insert_text(SHED)
    for field, typed in (("#m0-s0-length", "12' 6\""), ("#m0-s0-price", "9.80")):
        page.locator(field).click()
        page.keyboard.insert_text(typed)
    plan(page)
    order = page.url
    with page.expect_popup() as paper:
        page.get_by_role("link", name="Order for the yard", exact=True).click()
    expect(paper.value.locator("body")).to_contain_text("6 panels")
    page.get_by_role("link", name="Change this list").click()
    expect(page.locator("#text")).to_have_value(SHED)
    plan(page)
    page.goto(order)
    page.get_by_role("button", name="Plan it as a new order").click()
    page.wait_for_url(lambda address: address != order)
    order_shown(page)
    page.get_by_role("link", name="Plans", exact=True).click()
    page.wait_for_url("**/plans")
    page.locator(".plans tbody a").first.click()
    order_shown(page)


def test_on_a_phone_nothing_is_wider_than_the_screen(phone: Page) -> None:
    """390 wide: list, questions, faults and order fit; only drawings may be moved sideways, in their own frame."""
    fits(phone)
    paste(phone, MESSY)
    fits(phone)
    phone.locator("#plan").click()
    expect(phone.locator("#faults")).to_be_visible()
    fits(phone)
    settle_messy(phone)
    phone.locator("details", has=phone.locator("#m0-s0-carton_price")).locator("summary").click()
    for name, value in (("price", "109.80"), ("carton", "6"), ("carton_price", "600.00"), ("fixed_cost", "25")):
        phone.locator(f"#m0-s0-{name}").fill(value)
    phone.locator("#m0-s1-price").fill("613.40")
    fits(phone)
    plan(phone)
    expect(phone.locator(".each").first).to_have_text("109.80, carton 600.00")
    fits(phone)
    expect(phone.locator("figcaption").first).to_be_visible()


def test_without_javascript(plain: Page) -> None:
    """Paste, read, answer, put right, plan, print: every step is a form, and every answer a whole page."""
    plain.locator("#text").fill(MESSY)
    plain.get_by_role("button", name="Read the list").click()
    expect(plain.locator("#said")).to_have_text("74 pieces read; 3 lines need a look.")
    plain.get_by_label("feet and inches").check()
    plain.locator("#fix-16").fill("4 @ 60 [K]")
    plain.get_by_role("button", name="Read again").click()
    expect(plain.locator("#said")).to_have_text("83 pieces read, every line clear.")
    plain.get_by_role("button", name="A material of its own").click()
    stock(plain, 0, 0, "12' 6\"", "9.80")
    stock(plain, 1, 0, "12' 6\"", "7.15")
    plain.locator("#job").fill("Tern Cottage, boat shed")
    plan(plain)
    expect(plain.locator("#copy")).to_be_hidden()
    plain.get_by_text("The order as text").click()
    expect(plain.locator("#order-text")).to_contain_text("J-channel")
    plain.goto(str(plain.get_by_role("link", name="Cut sheet", exact=True).get_attribute("href")))
    expect(plain.locator("body")).to_contain_text("J-channel: ")


def test_waiting_without_javascript(browser: Browser, slow: str) -> None:
    """The page asks for itself again while the work goes on; stopping is a button of a form."""
    with opened(browser, slow, java_script_enabled=False) as page:
        page.goto("/")
        page.locator("#text").fill(SHED)
        stock(page, 0, 0, "12' 6\"", "9.80")
        page.locator("#job").fill("hang")
        page.locator("#plan").click()
        expect(page.locator("#cost")).to_have_text("60.00")
        page.get_by_role("button", name="Stop and use").click()
        order_shown(page)


def test_in_the_dark(browser: Browser, counter: str) -> None:
    """With a dark theme ink is light on dark, in drawings too; on paper it is black on white all the same."""
    with opened(browser, counter, color_scheme="dark") as page:
        page.goto("/")
        plan_shed(page)
        assert brightness(page, "body", "backgroundColor") < 60
        assert brightness(page, "body", "color") > 200
        assert brightness(page, "figure svg", "stroke") > 200
        page.emulate_media(media="print", color_scheme="light")
        assert brightness(page, "body", "backgroundColor") == 255
        assert brightness(page, ".good strong", "color") == 0


def brightness(page: Page, selector: str, name: str) -> float:
    """Return the mean of red, green and blue of an element's colour."""
    told = page.locator(selector).first.evaluate("(element, name) => getComputedStyle(element)[name]", name)
    return sum(map(int, re.findall(r"\d+", told)[:3])) / 3


def test_the_first_load_is_light(browser: Browser, counter: str) -> None:
    """Page, style, scripts and mark come to less than 100 kB, all from here."""
    with opened(browser, counter) as page:
        sizes: dict[str, int] = {}
        page.on("response", lambda answer: sizes.update({answer.url: len(answer.body())}))
        page.goto("/", wait_until="networkidle")
        assert all(url.startswith(counter) for url in sizes)
        assert sum(sizes.values()) < 100_000
