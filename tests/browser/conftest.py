"""One browser and one served installation for all tests of the page."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.support.chromium import PHONE, chromium, opened, served
from tests.support.stack import Stack, stack


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Yield the browser."""
    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def counter(serving: Stack) -> Iterator[str]:
    """Yield the address of an installation with a real worker."""
    with served(serving.app) as address:
        yield address


@pytest.fixture(scope="session")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Yield the address of an installation whose worker goes on until it is cancelled with jobs called ``hang``."""
    with stack(tmp_path_factory.mktemp("slow") / "data") as running:
        running.start_worker(stubbed=True)
        with served(running.app) as address:
            yield address


@pytest.fixture
def page(browser: Browser, counter: str) -> Iterator[Page]:
    """Yield the counter page, 1440 wide."""
    with opened(browser, counter) as shown:
        shown.goto("/")
        yield shown


@pytest.fixture
def phone(browser: Browser, counter: str) -> Iterator[Page]:
    """Yield the counter page on a phone, 390 wide."""
    with opened(browser, counter, viewport=PHONE, has_touch=True, is_mobile=True) as shown:
        shown.goto("/")
        yield shown


@pytest.fixture
def plain(browser: Browser, counter: str) -> Iterator[Page]:
    """Yield the counter page in a browser without JavaScript."""
    with opened(browser, counter, java_script_enabled=False) as shown:
        shown.goto("/")
        yield shown
