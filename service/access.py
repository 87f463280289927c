"""Who is asking, and how often: optional API keys, and a limit on requests to plan."""

from __future__ import annotations

from urllib.parse import urlsplit

from flask import Flask, current_app, g, request

from service import sessions
from service.problems import Problem
from service.state import Config, service, store
from workers.connection import PREFIX

ANYBODY = "anybody"
"""The one client where no API keys are set."""
OPEN = frozenset(
    {
        "health.live", "health.ready", "openapi.document", "problems.explain", "counter.sign_in", "counter.sign_out",
        "counter.static", "static",
    }
)  # fmt: skip
"""Endpoints that need no key."""


def install(app: Flask, config: Config) -> None:
    """Ask every request for its API key, or for the session of who signed in with it, if there are any keys."""

    def know_client() -> None:
        g.client, g.person = ANYBODY, ""
        if not config.api_keys or request.endpoint in OPEN:
            return
        session = None if "Authorization" in request.headers or not _of_a_page() else sessions.current()
        if session:
            g.client, g.person = session.client, session.name
        else:
            g.client = _client_of(request.headers.get("Authorization", ""))

    app.before_request(know_client)


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


def spend_turn(what: str) -> None:
    """Count one request for ``what``, each kind by itself. Raises ``Problem`` beyond the client's share of a minute."""
    redis, config = store().redis, service().config
    minute, second = divmod(redis.time()[0], 60)
    name = f"{PREFIX}rate:{what}:{client()}:{_address()}:{minute}"
    with redis.pipeline() as pipe:
        pipe.incr(name)
        pipe.expire(name, 120)
        spent = pipe.execute()[0]
    if spent > config.rate:
        detail = f"A client may ask for {config.rate} {what} a minute."
        raise Problem("too-many", detail, headers={"Retry-After": str(60 - second)})


def _address() -> str:
    """Return the caller's address where clients are not told apart by keys."""
    return (request.remote_addr or "") if client() == ANYBODY else ""


def _client_of(header: str) -> str:
    scheme, _, key = header.partition(" ")
    found = sessions.client_of(key)
    if scheme.lower() != "bearer" or not found:
        current_app.logger.info("a request without a valid API key")
        detail = "This address needs an API key."
        raise Problem("key-missing", detail, headers={"WWW-Authenticate": 'Bearer realm="lapstock"'})
    return found
