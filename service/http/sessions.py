"""Who is signed in at a browser: a signed cookie that names a client's key and, if they said so, the person.

The cookie is a statement of this server, good for half a day and as long as the key is one; signing out ends it for
good, wherever it was copied to. It holds nothing of the key. What signs it is made once and kept in the store, so that
every process of an installation knows the others' cookies.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import cast

from flask import request
from itsdangerous import BadSignature, URLSafeTimedSerializer
from werkzeug.wrappers import Response

from service.state import service, store
from service.wire import limits
from workers import PREFIX
from workers.keys import Key, Keys, Scope, digest_of

COOKIE = "lapstock-session"
GOOD_FOR = 12 * 3600
"""Seconds: nobody signs in twice on one working day."""
_SECRET = PREFIX + "secret"


@dataclass(frozen=True, slots=True)
class Session:
    """Somebody signed in: with which key, the person's name if it was given, and what ends it."""

    key: Key
    name: str
    mark: str


def key_of(given: str) -> tuple[bool, Key | None]:
    """Return whether one needs a key here, and the one that was given where it is good.

    Every key of the environment is compared, so that time tells nothing; one of the store is found by its digest.
    """
    own = _of_environment()
    digest = digest_of(given)
    found = [key for key in own if hmac.compare_digest(key.digest, digest)]
    if found:
        return True, found[0]
    keyed, key = Keys(store().redis).look_for(given)
    return keyed or bool(own), key


def begin(response: Response, key: Key, name: str) -> None:
    """Sign somebody in who has a key."""
    said = {"client": key.client, "key": key.trace, "name": name[: limits.TEXT], "mark": secrets.token_hex(16)}
    response.set_cookie(
        COOKIE,
        str(_signer().dumps(said)),
        max_age=GOOD_FOR,
        httponly=True,
        samesite="Lax",
        secure=request.is_secure,
    )


def current() -> Session | None:
    """Return who is signed in at this browser."""
    given = request.cookies.get(COOKIE)
    if not given:
        return None
    try:
        said: Mapping[str, str] = _signer().loads(given, max_age=GOOD_FOR)
    except BadSignature:
        return None
    own = {key.trace: key for key in _of_environment()}
    key = own.get(said["key"]) or Keys(store().redis).look(said["key"])[1]
    if key is None or key.client != said["client"] or store().redis.exists(_ended(said["mark"])):
        return None
    return Session(key, said["name"], said["mark"])


def end(response: Response) -> None:
    """Sign out: the cookie is taken away, and counts no more where somebody kept it."""
    if session := current():
        store().redis.set(_ended(session.mark), 1, ex=GOOD_FOR)
    response.delete_cookie(COOKIE, httponly=True, samesite="Lax", secure=request.is_secure)


def _signer() -> URLSafeTimedSerializer:
    redis = store().redis
    if not redis.exists(_SECRET):
        redis.set(_SECRET, secrets.token_hex(32), nx=True)
    return URLSafeTimedSerializer(cast("bytes", redis.get(_SECRET)), salt=COOKIE)


def _of_environment() -> list[Key]:
    """Return the keys that the settings name: each is called as its client, and good for everything."""
    keys = service().config.api_keys.items()
    return [Key(client, client, digest, tuple(Scope), datetime.fromtimestamp(0, UTC)) for digest, client in keys]


def _ended(mark: str) -> str:
    return f"{PREFIX}signed-out:{mark}"
