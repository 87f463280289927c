"""How often one may ask: every request counts against a limit of its kind, each client and each kind by itself.

Where clients are not told apart by keys, their addresses do. What is left is said with each answer
(draft-ietf-httpapi-ratelimit-headers, 10); health is looked at as often as one likes.
"""

from __future__ import annotations

import time
from contextlib import suppress
from http import HTTPStatus
from math import ceil
from typing import Any, cast

from flask import Flask, Response, current_app, g, request
from flask_limiter import Limiter, RequestLimit
from limits import RateLimitItemPerMinute
from redis.exceptions import RedisError

from service.http import access
from service.http.faults import answer_to
from service.http.problems import Problem
from service.http.waiting import AT_DESK
from service.state import service
from workers import PREFIX
from workers.connection import refuses_writes

HEADERS = ("RateLimit", "RateLimit-Policy")
UNLIMITED = frozenset(
    {
        "health.live", "health.ready", "openapi.document", "problems.explain", "counter.static", "static",
        "documentation.start", "documentation.page", "documentation.static",
    }
)  # fmt: skip
"""Endpoints that count against no limit: health, and what is always the same and there without a store."""
_KINDS = {
    "cut_plans.ask": "plans", "cut_plan_batches.ask": "plans", "alternatives.ask": "plans",
    "takeoffs.take": "plans", "continuations.go": "plans", "weeks.plan": "plans",
    "plan_checks.check_plan": "checks", "cut_lists.read": "readings of lists", "price_list.take_in": "price lists",
    "take_off_sheets.page": "sheets", "take_off_sheets.file": "sheets", "counter.sign_in": "sign-ins",
    "counter.press": "forms", "counter.draw": "forms", "counter.again": "forms",
}  # fmt: skip
"""What costs most, counted by itself."""
_READS, _CHANGES = "reads", "changes"
_READS_EACH = 10
"""So many reads are allowed for each request of another kind: whoever waits for a plan looks again and again."""
_WINDOW = 60
_LIMITER = "lapstock.limiter"


def install(app: Flask) -> None:
    """Count every request of this app, once it is known whose it is."""
    limiter = Limiter(
        key_func=_whose,
        application_limits=[lambda: f"{_allowed()} per {_WINDOW} seconds"],
        storage_uri="redis://",
        storage_options={"connection_pool": app.extensions["lapstock"].store.redis.connection_pool},
        strategy="sliding-window-counter",
        key_prefix=f"{PREFIX}rate",
        on_breach=_refuse,
        app=app,
    )
    app.extensions[_LIMITER] = limiter
    _count_where_possible(limiter)
    # what comes to the desk was counted where it came in
    limiter.request_filter(lambda: request.endpoint in UNLIMITED or AT_DESK in request.environ)

    def note() -> None:
        # a request that is held is counted once, and the limiter forgets it meanwhile
        g.limit = limiter.current_limit

    def say(response: Response) -> Response:
        # what was done is done: without Redis it is answered all the same, and nothing is said of the limit
        with suppress(RedisError):
            if response.status_code == HTTPStatus.UNAUTHORIZED:
                response = _slowed(limiter, response)
            if (limit := limiter.current_limit or g.get("limit")) and "client" in g:
                for name, value in zip(HEADERS, _said(limit), strict=True):
                    response.headers[name] = value
        return response

    app.before_request(note)
    app.after_request(say)


def _count_where_possible(limiter: Limiter) -> None:
    """Count nothing where Redis takes nothing new: what is there can be read, and the store refuses the rest."""
    storage = cast("Any", limiter.storage)
    count = storage.acquire_sliding_window_entry

    def counted(*told: object, **named: object) -> bool:
        try:
            return bool(count(*told, **named))
        except RedisError as error:
            if refuses_writes(error):
                return True
            raise

    storage.acquire_sliding_window_entry = counted


def count_more(requests: int) -> None:
    """Count so many more requests than this one, for what it asks. Raises ``Problem`` where they are too many."""
    limit = cast("Limiter", current_app.extensions[_LIMITER]).current_limit
    if limit and requests and not limit.limiter.hit(limit.limit, *limit.request_args, cost=requests):
        _refuse(limit)


def _slowed(limiter: Limiter, response: Response) -> Response:
    """Return the answer to whoever has no valid key; from an address of which too many came, that they are too many."""
    most = max(1, service().config.rate // 10)
    if limiter.limiter.hit(RateLimitItemPerMinute(most), "wrong keys", request.remote_addr or ""):
        return response
    detail = f"From one address {most} requests a minute may come without a valid key."
    return answer_to(Problem("too-many", detail, headers={"Retry-After": str(_WINDOW)}))


def _kind() -> str:
    if request.method in ("GET", "HEAD", "OPTIONS"):
        return _READS
    return _KINDS.get(request.endpoint or "", _CHANGES)


def _allowed() -> int:
    return service().config.rate * (_READS_EACH if _kind() == _READS else 1)


def _whose() -> str:
    client = access.client()
    address = (request.remote_addr or "") if client == access.ANYBODY else ""
    return f"{_kind()}:{client}:{address}"


def _refuse(limit: RequestLimit) -> None:
    detail = f"A client may ask for {_allowed()} {_kind()} a minute."
    raise Problem("too-many", detail, headers={"Retry-After": str(_seconds_left(limit))})


def _said(limit: RequestLimit) -> tuple[str, str]:
    """Return what is left of the limit and for how long, and the limit itself."""
    name = _kind().replace(" ", "-")
    return f'"{name}";r={limit.remaining};t={_seconds_left(limit)}', f'"{name}";q={_allowed()};w={_WINDOW}'


def _seconds_left(limit: RequestLimit) -> int:
    return min(_WINDOW, max(1, ceil(limit.reset_at - time.time())))
