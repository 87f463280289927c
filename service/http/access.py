"""Who is asking, and for what: optional API keys, each good for what its scopes say."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Flask, current_app, g, request

from service.http import sessions
from service.http.problems import Problem
from workers.keys import Key, Scope

ANYBODY = "anybody"
"""The one client where no API keys are set."""
OPEN = frozenset(
    {
        "health.live", "health.ready", "openapi.document", "problems.explain", "counter.sign_in", "counter.sign_out",
        "counter.static", "static", "documentation.start", "documentation.page", "documentation.static",
    }
)  # fmt: skip
"""Endpoints that need no key."""
_CATALOGUE = ("materials", "price_list", "rack", "company", "customers")
_CATALOGUE_PAGES = (
    "counter.settings", "counter.take_materials_in", "counter.press_material", "counter.put_on_rack", "counter.use_up",
)  # fmt: skip
_WEEKS = ("weeks", "week_parts")


def install(app: Flask) -> None:
    """Ask every request for its API key, or for the session of who signed in with it, if there are any keys."""

    def know_client() -> None:
        g.client, g.person = ANYBODY, ""
        if request.endpoint in OPEN:
            return
        if "Authorization" not in request.headers and _of_a_page() and (session := sessions.current()):
            g.person = session.name
            _let_in(session.key)
        else:
            _ask_for_key(request.headers.get("Authorization", ""))

    app.before_request(know_client)


def scope_asked() -> Scope:
    """Return what a key must be good for to do what is asked."""
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return Scope.READ
    if request.blueprint in _WEEKS or (request.endpoint or "").startswith("counter.week"):
        return Scope.WEEKS
    of_catalogue = request.blueprint in _CATALOGUE or request.endpoint in _CATALOGUE_PAGES
    return Scope.CATALOGUE if of_catalogue else Scope.PLAN


def _let_in(key: Key) -> None:
    if scope_asked() not in key.scopes:
        raise Problem("not-allowed", f"The key {key.name} has no scope {scope_asked()}.")
    g.client = key.client


def _of_a_page() -> bool:
    """Whether a session counts here: on pages, which take forms from themselves alone, and for looking at the rest.

    Elsewhere for what a script of our own pages changes, as the browser says (Fetch Metadata, W3C; else RFC 6454).
    """
    if request.blueprint == "counter" or request.method in ("GET", "HEAD"):
        return True
    site, origin = request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin", "")
    return site == "same-origin" if site else urlsplit(origin).netloc == request.host


def client() -> str:
    """Return who is asking."""
    return str(g.client)


def person() -> str:
    """Return who that is by name, where it is known."""
    return str(g.person)


def _ask_for_key(header: str) -> None:
    scheme, _, given = header.partition(" ")
    keyed, key = sessions.key_of(given)
    if not keyed:
        return
    if scheme.lower() != "bearer" or not key:
        current_app.logger.info("a request without a valid API key")
        detail = "This address needs an API key."
        raise Problem("key-missing", detail, headers={"WWW-Authenticate": 'Bearer realm="lapstock"'})
    _let_in(key)
