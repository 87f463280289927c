"""What somebody at the counter does, step by step; ``MESSY`` is an invented customer's e-mail."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page, expect

MESSY = (Path(__file__).parent.parent / "data" / "counter" / "messy_list.txt").read_text("utf-8")
SHED = "4 @ 9' 6\" lap left [A]\n6 @ 4' 2\" [B]\n4 @ 34 1/2 [C]\n"
"""The contract's small job: six panels of 12'-6" and no fewer."""


def paste(page: Page, text: str) -> None:
    """Put a text into the list as pasting does, and wait until it is read."""
    page.locator("#text").fill(text)
    expect(page.locator("#said")).not_to_have_text("Nothing to read yet.")


def paste_by_keyboard(page: Page, text: str) -> None:
    """Paste as people do, over what is there; long texts come in no other way in reasonable time."""
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.evaluate("text => navigator.clipboard.writeText(text)", text)
    page.locator("#text").focus()
    page.keyboard.press("Control+a")
    page.keyboard.press("Control+v")


def stock(page: Page, material: int, row: int, length: str, price: str = "", code: str = "", carton: str = "") -> None:
    """Fill in one stock length."""
    for name, value in (("length", length), ("price", price), ("code", code), ("carton", carton)):
        page.locator(f"#m{material}-s{row}-{name}").fill(value)


def settle_messy(page: Page) -> None:
    """Answer what the messy list asks, put its one wrong line right, and say what is in stock."""
    page.get_by_label("feet and inches").check()
    expect(page.locator("#said")).to_have_text("79 pieces read; 1 line needs a look.")
    page.locator("#fix-16").fill("4 @ 60 [K]")
    page.locator("#fix-16").press("Enter")
    expect(page.locator("#said")).to_have_text("83 pieces read, every line clear.")
    page.get_by_role("button", name="A material of its own").click()
    expect(page.locator("#m1-s0-length")).to_be_focused()
    stock(page, 0, 0, "12' 6\"", "9.80", "TS-126", "24")
    stock(page, 0, 1, "16' 8\"", "13.40", "TS-168")
    stock(page, 1, 0, "12' 6\"", "7.15")


def fits(page: Page) -> None:
    """Hold the page to the width of its screen, once it has all arrived."""
    page.wait_for_load_state()
    assert page.viewport_size
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]


def plan(page: Page) -> None:
    """Press Plan and wait for the order."""
    page.locator("#plan").click()
    order_shown(page)


def order_shown(page: Page) -> None:
    """Wait until the order is there and its scripts have run, which keep what was planned with."""
    expect(page.get_by_role("heading", level=1, name="Order")).to_be_visible(timeout=30_000)
    page.wait_for_load_state()


def plan_shed(page: Page) -> None:
    """Take the small job from the list to the order."""
    paste(page, SHED)
    stock(page, 0, 0, "12' 6\"", "9.80")
    page.locator("#job").fill("Tern Cottage, boat shed")
    plan(page)
