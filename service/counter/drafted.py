"""Drafts: forms are kept whenever they are sent, opened again by their token, whatever becomes of the tab."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress

from flask import request, url_for
from redis.exceptions import RedisError

from service.http import access
from service.state import store
from workers.orders.drafts import TOKEN, Draft, Drafts, now

WAYS = {"/": "counter.page", "/measure": "counter.measure"}
"""The forms that are kept: the address they are sent to, and the page that opens them again."""
_NOT_TYPED = ("do", "part", "way")
_SHOWN = 5
_MEASURED = re.compile(r"[wce][0-9]+-(?:width|length)")


def keep(way: str, fields: Mapping[str, str], *, planned: bool = False, client: str = "") -> str:
    """Keep a form as it was sent, if there is anything in it, and return its token, "" where it is not kept.

    A list is read and planned without a store too.
    """
    token, title = fields.get("token", ""), title_of(fields)
    if not (token and title and way in WAYS):
        return ""
    typed = {name: text for name, text in fields.items() if name not in _NOT_TYPED}
    with suppress(RedisError):
        _drafts().keep(client or access.client(), Draft(token, way, title, now(), typed, planned))
    return token


def fields_of(way: str) -> Mapping[str, str] | None:
    """Return the fields of the draft that the address names, None where it names none of this way, or none any more."""
    token = request.args.get("draft")
    draft = _drafts().fetch(access.client(), token) if token else None
    return draft.fields if draft and draft.way == way else None


def token_asked() -> str:
    """Return the token that the address names, for a form that has not come here yet; "" where it names none."""
    token = request.args.get("draft", "")
    return token if TOKEN.fullmatch(token) else ""


def address(draft: Draft) -> str:
    """Return where a draft is opened again."""
    return url_for(WAYS[draft.way], draft=draft.token)


def unfinished() -> list[Draft]:
    """Return what the client has begun and not planned, newest first."""
    with suppress(RedisError):
        return _drafts().unfinished(access.client(), _SHOWN)
    return []


def drop(token: str) -> None:
    """Throw a draft away."""
    _drafts().drop(access.client(), token)


def title_of(fields: Mapping[str, str]) -> str:
    """Return what tells a draft from others: for whom, which job, or how its list begins; empty where nothing is."""
    lines = (line.strip() for line in fields.get("text", "").splitlines())
    begins = next(filter(None, lines), "")
    measured = any(text.strip() and _MEASURED.fullmatch(name) for name, text in fields.items())
    told = (fields.get("customer", "").strip(), fields.get("job", "").strip(), begins, "Measurements" * measured)
    return next(filter(None, told), "")[:80]


def _drafts() -> Drafts:
    return Drafts(store().redis)
