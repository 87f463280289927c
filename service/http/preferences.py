"""What a request says beside its body: how it wants to be served, on which condition, and its query string."""

from __future__ import annotations

import re
from urllib.parse import urlencode

from flask import Flask, Response, current_app, request

from service.http.documented import operation_of
from service.http.problems import Problem

_WAIT = re.compile(r"(?:^|[,;\s])wait\s*=\s*\"?(\d{1,6})\"?(?=$|[,;\s])", re.IGNORECASE)
_KEY = re.compile(r"[\x21-\x7e]{1,255}")

_FLAGS = {"true": True, "false": False}


def wait_preferred() -> int | None:
    """Return N of ``Prefer: wait=N`` (RFC 7240), or None."""
    match = _WAIT.search(", ".join(request.headers.getlist("Prefer")))
    return int(match[1]) if match else None


def tell_wait(response: Response, preferred: int | None, granted: float | None) -> None:
    """Say for how long the answer might be held, where that was preferred and the preference was heeded."""
    response.headers["Vary"] = "Prefer"
    if preferred is not None and granted is not None:
        response.headers["Preference-Applied"] = f"wait={granted:.0f}"


def idempotency_key() -> str | None:
    """Return the client's ``Idempotency-Key``, with or without quotes, or None.

    Raises ``Problem`` where it is longer than 255 characters or holds others than printable ASCII.
    """
    given = request.headers.get("Idempotency-Key")
    if given is None:
        return None
    key = given.strip().strip('"')
    if not _KEY.fullmatch(key):
        raise Problem("malformed-header", "Idempotency-Key must be 1 to 255 printable ASCII characters without spaces.")
    return key


def require_match(etag: str | None) -> None:
    """Refuse a change of what is not as the client knows it (``If-Match``, RFC 9110, 13.1.1); None is not there.

    Raises ``Problem``.
    """
    if "If-Match" in request.headers and (etag is None or not request.if_match.contains(etag)):
        raise Problem("changed", "It is not as If-Match has it; look at it again, and decide anew.")


def is_known(etag: str) -> bool:
    """Whether the client has this already (``If-None-Match``, whose comparison is weak: RFC 9110, 13.1.2)."""
    return request.if_none_match.contains_weak(etag)


def install(app: Flask) -> None:
    """Refuse unknown parameters under ``/v1``: a client that asks for ``page=2`` must not get page one.

    Whatever is got with an entity tag is 304 for whoever has it.
    """
    app.before_request(_refuse_strangers)
    app.after_request(_spare_what_is_known)


def whole_parameter(name: str, default: int, least: int, most: int) -> int:
    """Return a whole number of the query string. Raises ``Problem`` where it is none, or out of range."""
    given = request.args.get(name)
    if given is None:
        return default
    if not (given.isascii() and given.isdigit() and len(given) < 12 and least <= int(given) <= most):
        raise Problem("malformed-query", f"{name} must be a whole number from {least} to {most}.")
    return int(given)


def lead_on(response: Response, **where: str | int) -> None:
    """Lead to the next page of what was asked for (``Link``, RFC 8288): the same query, and where that page begins."""
    following = urlencode({**request.args, **where})
    response.headers["Link"] = f'<{request.path}?{following}>; rel="next"'


def flag(name: str) -> bool:
    """Return a yes or no of the query string, no where it is left out. Raises ``Problem`` where it is neither."""
    given = request.args.get(name, "false")
    if given not in _FLAGS:
        raise Problem("malformed-query", f"{name} is true or false.")
    return _FLAGS[given]


def _spare_what_is_known(response: Response) -> Response:
    if response.status_code == 200 and "ETag" in response.headers:
        response.make_conditional(request)
    return response


def _refuse_strangers() -> None:
    if not (request.args and request.endpoint and request.path.startswith("/v1/")):
        return
    operation = operation_of(current_app.view_functions[request.endpoint])
    known = operation.query if operation else {}
    strangers = [name for name in request.args if name not in known]
    if operation and strangers:
        there_are = f"there are {', '.join(known)}" if known else "there are none"
        raise Problem("malformed-query", f"{', '.join(strangers)[:200]}: no parameter of this address; {there_are}.")
