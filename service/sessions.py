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
from hashlib import sha256
from typing import cast

from flask import request
from itsdangerous import BadSignature, URLSafeTimedSerializer
from werkzeug.wrappers import Response

from service.state import service, store
from service.wire import limits
from workers.connection import PREFIX

COOKIE = "lapstock-session"
GOOD_FOR = 12 * 3600
"""Seconds: nobody signs in twice on one working day."""
_SECRET = PREFIX + "secret"


@dataclass(frozen=True, slots=True)
class Session:
    """Somebody signed in: the client whose key it was, the person's name if it was given, and what ends it."""

    client: str
    name: str
    mark: str


def client_of(key: str) -> str | None:
    """Return whose key this is, None where it is nobody's; every key is compared, so that time tells nothing."""
    digest = sha256(key.strip().encode()).hexdigest()
    found = [client for known, client in service().config.api_keys.items() if hmac.compare_digest(known, digest)]
    return found[0] if found else None


def begin(response: Response, key: str, name: str) -> None:
    """Sign somebody in who has a client's key."""
    said = {"client": client_of(key), "key": _trace(key), "name": name[: limits.TEXT], "mark": secrets.token_hex(16)}
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
    keys = {_short(digest): client for digest, client in service().config.api_keys.items()}
    if keys.get(said["key"]) != said["client"] or store().redis.exists(_ended(said["mark"])):
        return None
    return Session(said["client"], said["name"], said["mark"])


def end(response: Response) -> None:
    """Sign out: the cookie is taken away, and counts no more where somebody kept it."""
    if session := current():
        store().redis.set(_ended(session.mark), 1, ex=GOOD_FOR)
    response.delete_cookie(COOKIE, httponly=True, samesite="Lax", secure=request.is_secure)


def _signer() -> URLSafeTimedSerializer:
    redis = store().redis
    redis.set(_SECRET, secrets.token_hex(32), nx=True)
    return URLSafeTimedSerializer(cast("bytes", redis.get(_SECRET)), salt=COOKIE)


def _trace(key: str) -> str:
    return _short(sha256(key.strip().encode()).hexdigest())


def _short(digest: str) -> str:
    """Return what tells a client's key from the one it had before, and is no way to it."""
    return sha256(digest.encode()).hexdigest()[:16]


def _ended(mark: str) -> str:
    return f"{PREFIX}signed-out:{mark}"
