"""Debian's Chromium, driven by Playwright, against an app that is served as in an installation."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread
from typing import Any

import pytest
from flask import Flask
from playwright.sync_api import Browser, Page, sync_playwright

from service.cli.server import ApiServer

QUIET = (
    "--disable-dev-shm-usage", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run", "--disable-default-apps",
)  # fmt: skip
DESKTOP = {"width": 1440, "height": 900}
PATIENCE = 15_000
"""Milliseconds after which a step has failed."""
PHONE = {"width": 390, "height": 844}


@contextmanager
def served(app: Flask) -> Iterator[str]:
    """Serve an app on a free port and yield its address."""
    stopped = Event()
    server = ApiServer(app, "127.0.0.1", 0)
    thread = Thread(target=server.serve, args=(stopped.is_set,))
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.port}"
    finally:
        stopped.set()
        thread.join()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Yield a browser. Skips where there is none, but in CI, where it must be."""
    found = shutil.which("chromium")
    if found is None and not os.environ.get("CI"):
        pytest.skip("no Chromium is installed: apt-get install chromium")
    assert found, "CI tests the page in Chromium, and it is not installed"
    sandbox = ("--no-sandbox",) if os.geteuid() == 0 else ()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, headless=True, args=[*QUIET, *sandbox])
        yield browser
        browser.close()


@contextmanager
def opened(browser: Browser, address: str, **settings: Any) -> Iterator[Page]:  # noqa: ANN401
    """Yield a page of its own context at an address; whatever its scripts complain about fails the test."""
    context = browser.new_context(**{"base_url": address, "viewport": DESKTOP, **settings})
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda told: complaints.append(told.text) if told.type == "error" else None)
    try:
        yield page
    finally:
        context.close()
    expected = ("status of 401", "status of 404", "status of 422", "net::ERR_INTERNET_DISCONNECTED")
    assert [words for words in complaints if not any(known in words for known in expected)] == []
