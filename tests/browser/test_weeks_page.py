"""A foreman's week in the browser, on a phone and on a desk: begun, filled from a list, planned, looked at."""

from __future__ import annotations

import re

from playwright.sync_api import Browser, Page, expect

from tests.browser.steps import fits
from tests.browser.test_accessibility import violations
from tests.support.chromium import DESKTOP, PHONE, opened

WEEK = re.compile(r"/weeks/[a-z]+/2100-W10(\?done=[a-z]+)?(#.*)?$")


def looked_at(page: Page) -> None:
    """Nothing is wider than the screen, and axe-core finds nothing."""
    fits(page)
    assert violations(page) == []


def test_a_week_from_its_beginning_to_the_report(browser: Browser, counter: str) -> None:
    """Every page of the way, with what is refused: a list in which a line is none."""
    with opened(browser, counter, viewport=PHONE) as page:
        page.goto("/weeks")
        looked_at(page)
        page.locator("#crew").fill("phoning")
        page.locator("#on").fill("2100-03-10")
        page.get_by_role("button", name="Open the week").click()
        page.wait_for_url(re.compile("/setup$"))
        page.locator("#m0-name").fill("panel-sand-of-a-name-as-long-as-may-be")
        page.locator("#m0-s0-length").fill("12' 6\"")
        page.locator("#m0-s0-price").fill("9.80")
        looked_at(page)
        page.get_by_role("button", name="Begin the week").click()
        page.wait_for_url(WEEK)
        page.get_by_role("link", name="Add a job").click()
        page.locator("#job").fill("north wall")
        page.locator("#on").select_option("2100-03-08")
        page.locator("#text").fill("3 @ 100 A\n2 @ blue")
        page.get_by_role("button", name="Put it in the week").click()
        expect(page.locator("#faults")).to_be_visible()
        looked_at(page)
        page.locator("#text").fill("3 @ 100 A")
        page.get_by_role("button", name="Put it in the week").click()
        page.wait_for_url(WEEK)
        page.goto("/weeks/phoning/2100-W10/job?on=2100-03-11")
        page.locator("#job").fill("boat shed")
        page.locator("#text").fill("3 @ 50 B")
        page.get_by_role("button", name="Put it in the week").click()
        page.wait_for_url(WEEK)
        page.get_by_role("button", name="Plan now").click()
        page.wait_for_url(re.compile(r"W10(\?done=planned)?$"))
        page.request.post("/v1/crews/phoning/weeks/2100-W10/plan", headers={"Prefer": "wait=30"})
        page.goto("/weeks/phoning/2100-W10")
        expect(page.get_by_role("heading", name="From day to day")).to_be_visible()
        looked_at(page)
        page.set_viewport_size(DESKTOP)  # type: ignore[arg-type]
        looked_at(page)
        expect(page.locator(".flow figcaption")).to_be_visible()
        page.set_viewport_size(PHONE)  # type: ignore[arg-type]
        page.get_by_role("link", name="Report what was cut on Mon 8 Mar").click()
        expect(page.get_by_role("button", name="As on the sheet", exact=True)).to_be_visible()
        expect(page.get_by_text("This day is still to come")).to_be_visible()
        looked_at(page)
