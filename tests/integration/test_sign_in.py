"""Signing in at the page with an API key: by a cookie that nobody else makes, that is no key, and that ends."""

from __future__ import annotations

import re
from collections.abc import Iterator
from hashlib import sha256
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from service.http import sessions
from tests.support.shed import SHED
from tests.support.stack import Stack, stack

KEYS = {sha256(b"harbour-key").hexdigest(): "harbour", sha256(b"quay-key").hexdigest(): "quay"}
FORM = {"text": "4 @ 8'", "units": "in", "token": "tern-cottage-1", "customer": "A. Marsh", "m0-category": "siding",
        "m0-name": "", "m0-s0-length": "12' 6\"", "do": "plan"}  # fmt: skip


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Stack]:
    """Yield an installation with two keys."""
    with stack(tmp_path / "data", api_keys=KEYS) as running:
        yield running


def signed_in(installation: Stack, key: str = "harbour-key", **typed: str) -> Any:  # noqa: ANN401
    """Return a browser that signed in with a key."""
    browser = installation.client
    answer = browser.post("/sign-in", data={"key": key, "name": "R. Tern", "to": "/plans", **typed})
    assert answer.status_code == 303, answer.text
    return browser


def test_the_cookie_is_for_this_server_alone(locked: Stack) -> None:
    """No script reads it, no other site's form sends it, and it holds neither the key nor its digest."""
    answer = locked.client.post("/sign-in", data={"key": "harbour-key", "to": "/plans?q=marsh"})
    assert (answer.status_code, answer.headers["Location"]) == (303, "/plans?q=marsh")
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    secure = locked.client.post("/sign-in", data={"key": "harbour-key"}, base_url="https://localhost")
    assert "Secure" in secure.headers["Set-Cookie"]
    assert not any(digest in cookie for digest in (*KEYS, "harbour-key"))


@pytest.mark.parametrize(("proxies", "secure"), [(0, False), (1, True)])
def test_what_a_proxy_says_counts_where_there_is_one(proxies: int, secure: bool, tmp_path: Path) -> None:
    """It hides TLS and says so: the cookie is for TLS alone. From anybody else the same header says nothing."""
    with stack(tmp_path / "data", api_keys=KEYS, proxies=proxies) as running:
        headers = {"X-Forwarded-Proto": "https"}
        cookie = running.client.post("/sign-in", data={"key": "quay-key"}, headers=headers).headers["Set-Cookie"]
    assert ("Secure" in cookie) is secure


@pytest.mark.parametrize("to", ["https://shop.example/", "//shop.example", "/\\shop.example", "plans", "/a\nb"])
def test_one_is_led_nowhere_else(locked: Stack, to: str) -> None:
    """Only to an address of our own."""
    assert locked.client.post("/sign-in", data={"key": "quay-key", "to": to}).headers["Location"] == "/"


def test_a_wrong_key_is_no_way_in(locked: Stack) -> None:
    """It is said in words, and no cookie is set."""
    answer = locked.client.post("/sign-in", data={"key": "harbour", "to": "/plans"})
    assert (answer.status_code, "Set-Cookie" in answer.headers) == (422, False)
    assert "No client has this key." in answer.text


def test_pages_ask_who_is_there(locked: Stack) -> None:
    """Each page shows the way to sign in, and leads back to itself."""
    for page in ("/", "/measure", "/plans?q=marsh", "/settings"):
        answer = locked.client.get(page)
        assert (answer.status_code, answer.mimetype) == (401, "text/html")
        assert f'name="to" value="{page}"' in unescape(answer.text)
    assert signed_in(locked).get("/plans").status_code == 200


@pytest.mark.parametrize("file", [{}, {"file": (BytesIO(b"6 @ 9'"), "shed.csv")}], ids=["form", "with a file"])
def test_what_was_typed_is_there_after_signing_in(locked: Stack, file: dict[str, object]) -> None:
    """A form sent too late is kept as a draft of whoever signs in."""
    asked = locked.client.post("/", data=FORM | file)
    assert asked.status_code == 401
    carried = unescape(re.search(r'name="carried" value="([^"]*)"', asked.text)[1])  # type: ignore[index]
    answer = locked.client.post("/sign-in", data={"key": "harbour-key", "to": "/", "carried": carried})
    browser = signed_in(locked)
    assert "A. Marsh" in browser.get(answer.headers["Location"]).text


def test_one_sees_ones_own_and_leaves_ones_name(locked: Stack) -> None:
    """What is planned at the page is the client's; its history says who did it there."""
    browser = signed_in(locked)
    plan_id = browser.post("/", data=FORM).headers["Location"].rpartition("/")[2]
    deed = locked.record(plan_id).history[0]
    assert (deed.client, deed.name) == ("harbour", "R. Tern")
    assert signed_in(locked, "quay-key").get(f"/plans/{plan_id}").status_code == 404
    assert browser.get(f"/v1/cut-plans/{plan_id}").status_code == 200


def test_the_cookie_changes_nothing_for_others(locked: Stack) -> None:
    """Another site's script can make a browser send it; so it looks at things, and changes them for our own scripts."""
    browser = signed_in(locked)
    assert browser.post("/v1/cut-plans", json=SHED).status_code == 401
    for site, status in (("cross-site", 401), ("same-site", 401), ("none", 401), ("same-origin", 202)):
        assert browser.post("/v1/cut-plans", json=SHED, headers={"Sec-Fetch-Site": site}).status_code == status
    for origin, status in (("http://shop.example", 401), ("null", 401), ("http://localhost", 202)):
        assert browser.post("/v1/cut-plans", json=SHED, headers={"Origin": origin}).status_code == status
    assert browser.put("/v1/company", json={"name": "Tern"}).status_code == 401
    assert browser.post("/settings", data={"name": "Tern"}, headers={"Sec-Fetch-Site": "cross-site"}).status_code == 404
    assert browser.post("/settings", data={"name": "Tern"}, headers={"Origin": "null"}).status_code == 404


def test_signing_out_ends_it_everywhere(locked: Stack) -> None:
    """A copy of the cookie is good for nothing afterwards."""
    browser, copy = signed_in(locked), locked.client
    copy.set_cookie(sessions.COOKIE, browser.get_cookie(sessions.COOKIE).value)
    assert copy.get("/plans").status_code == 200
    assert browser.post("/sign-out").status_code == 303
    assert [one.get("/plans").status_code for one in (browser, copy)] == [401, 401]


def test_a_cookie_ends_with_its_key_and_its_day(locked: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """Altered, signed by another, of a key that is withdrawn, or too old, it is no cookie."""
    browser = signed_in(locked)
    value = browser.get_cookie(sessions.COOKIE).value
    altered = locked.client
    altered.set_cookie(sessions.COOKIE, f"{'x' if value[0] != 'x' else 'y'}{value[1:]}")
    assert altered.get("/plans").status_code == 401
    with monkeypatch.context() as later:
        later.setattr(sessions, "GOOD_FOR", -1)
        assert browser.get("/plans").status_code == 401
    locked.app.extensions["lapstock"].config.api_keys.pop(sha256(b"harbour-key").hexdigest())
    assert browser.get("/plans").status_code == 401


def test_without_keys_there_is_nothing_to_sign_in_to(alone: Stack) -> None:
    """The page is there at once, and sets no cookie."""
    answer = alone.client.get("/sign-in")
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
