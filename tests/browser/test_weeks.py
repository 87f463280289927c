"""A crew's week in the browser: from the page of the week to a morning's sheet, on a phone and on a desk."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.steps import fits
from tests.browser.test_accessibility import violations
from tests.support.chromium import DESKTOP, PHONE, opened
from tests.support.stack import Stack
from tests.support.weeks import in_another_week, week
from workers.week_tasks import run_week
from workers.weeks.record import WeekKey
from workers.weeks.store import WeekStore

WEEK = "/v1/crews/browsing/weeks/2100-W10"


@pytest.fixture(scope="module")
def planned(serving: Stack) -> str:
    """Return the address of a planned week."""
    store, key = WeekStore(serving.store.redis), WeekKey("anybody", "browsing", "2100-W10")
    store.change(key, lambda _: in_another_week(week(), 2100, 10))
    store.ask(key)
    run_week(store, key, None)
    return f"{WEEK}/page.html"


@pytest.mark.parametrize("size", [PHONE, DESKTOP], ids=["phone", "desk"])
def test_from_the_week_to_mondays_sheet(browser: Browser, counter: str, planned: str, size: dict[str, int]) -> None:
    """Nothing is wider than the screen, axe-core finds nothing, and the sheet says which offcuts to label."""
    with opened(browser, counter, viewport=size) as page:
        page.goto(planned)
        expect(page.get_by_role("heading", name="Jobs by day")).to_be_visible()
        fits(page)
        assert violations(page) == []
        page.get_by_role("link", name="Sheet for Monday").click()
        page.wait_for_url(re.compile("days/2100-03-08/sheet.html$"))
        fits(page)
        assert violations(page) == []
        expect(page.get_by_role("cell", name="10-MO1").first).to_be_visible()
