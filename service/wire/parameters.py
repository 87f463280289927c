"""Headers and query parameters of the contract, by name; an operation names those it heeds."""

from __future__ import annotations

from service.wire import limits
from service.wire.examples import PATHS
from service.wire.fields import Json

TEXT: Json = {"type": "string"}
COUNT: Json = {"type": "integer", "minimum": 0}

REQUEST_HEADERS: Json = {
    "Prefer": {
        "description": "RFC 7240: wait=N holds the answer up to N seconds, 30 at most, until the plan is there; "
        "it is planned ahead of background requests.",
        "schema": TEXT,
        "example": "wait=10",
    },
    "Idempotency-Key": {
        "description": "Of the client's choosing: the same request under the same key is accepted once, however "
        "often it is sent.",
        "schema": {"type": "string", "minLength": 1, "maxLength": 255, "pattern": "^[\\x21-\\x7e]+$"},
    },
    "If-Match": {
        "description": "RFC 9110: the ETag that the client knows; where it is another by now, nothing is done and the "
        "answer is 412.",
        "schema": TEXT,
    },
    "If-None-Match": {"description": "RFC 9110: the ETag of what the client has already.", "schema": TEXT},
}
"""Headers that a client may send."""

ANSWER_HEADERS: Json = {
    "Location": {"description": "Where the plan is.", "schema": {"type": "string", "format": "uri-reference"}},
    "Retry-After": {"description": "Seconds after which it is worth asking again.", "schema": COUNT},
    "ETag": {"description": "RFC 9110: changes whenever the resource does.", "schema": TEXT},
    "Link": {"description": "RFC 8288: the next page, rel=next, where there is one.", "schema": TEXT},
    "Preference-Applied": {"description": "RFC 7240: the preference that was heeded.", "schema": TEXT},
    "Accept-Encoding": {"description": "RFC 9110: content codings that a body may have.", "schema": TEXT},
    "WWW-Authenticate": {"description": "RFC 9110: how to say who is asking.", "schema": TEXT},
    "Request-Id": {"description": "The number under which the server has logged the request.", "schema": TEXT},
}
"""Headers of answers."""

_NAME: Json = {"type": "string", "minLength": 1, "maxLength": limits.ID, "pattern": r"^[^\u0000-\u001f\u007f/]+$"}
PATH: Json = {
    "plan_id": {"description": "The plan, by its `id`.", "schema": {"type": "string", "pattern": "^[0-9a-f]{32}$"}},
    "crew": {"description": "The crew, by whatever name.", "schema": _NAME, "example": PATHS["crew"]},
    "week": {
        "description": "The week as ISO 8601 writes it.",
        "schema": {"type": "string", "pattern": "^[0-9]{4}-W(0[1-9]|[1-4][0-9]|5[0-3])$"},
        "example": PATHS["week"],
    },
    "job": {"description": "The job, by whatever name.", "schema": _NAME, "example": PATHS["job"]},
    "day": {
        "description": "A day of the week.",
        "schema": {"type": "string", "format": "date"},
        "example": PATHS["day"],
    },
}
"""Parts of an address."""

QUERY: Json = {
    "limit": {"type": "integer", "minimum": 1, "maximum": 2_000, "default": 500},
    "after": {"type": "integer", "minimum": 0, "default": 0},
    "plan": {"type": "boolean", "default": False},
    "paper": {"enum": ["letter", "a4"]},
}
"""Schemas of query parameters; others are text."""
