"""Following a plan: how it comes on and that it is over, as server-sent events (WHATWG HTML, 9.2).

A stream ends with the plan or after as long as any answer is held, and its client comes again with the id of the last
event it had: so whoever has gone away unseen takes up no room for long.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import replace

from flask import Response, request
from redis.exceptions import RedisError

from service import plans
from service.http import access
from service.http.problems import Problem
from service.http.waiting import Full, streamed
from service.state import TooMany, service
from service.wire.plans.cut_plan import render_event
from workers.notices import CHANGED
from workers.plans.record import Record

MEDIA_TYPE = "text/event-stream"
_COME_AGAIN_MS = 500
"""After how long a client comes again that was cut off, and one whose stream has ended."""
_SILENT_SECONDS = 10
"""After so long without an event a comment is sent, so that nobody in between takes the connection for dead."""
_NOTHING = ":\n\n"
"""A comment."""
_RETRY_AFTER = {"Retry-After": "5"}


def followed(record: Record, known: str, mark_of: Callable[[Record], str]) -> Response:
    """Return the stream of a plan's events, less the one that is ``known``; ``mark_of`` gives a state's id.

    Raises ``Problem`` where as many follow plans as may.
    """
    response = Response(mimetype=MEDIA_TYPE)
    response.headers["Cache-Control"] = "no-store"
    response.headers["X-Accel-Buffering"] = "no"  # proxies that know it pass on what there is at once
    if request.method == "HEAD":
        return response
    follower = Follower(plans.kept(record), known, mark_of, time.monotonic() + service().config.longest_wait)
    try:
        with ExitStack() as entered:
            entered.enter_context(service().followers.one_more(access.client()))
            return streamed(response, record.id + CHANGED, follower.news, follower.until, entered.pop_all())
    except TooMany:
        raise Problem("too-many", "You follow as many plans as one may at a time.", headers=_RETRY_AFTER) from None
    except Full:
        raise Problem("busy", "As many follow plans as may at a time.", headers=_RETRY_AFTER) from None


class Follower:
    """What somebody who follows a plan has been told, until the moment ``until`` on the monotonic clock."""

    def __init__(self, kept: plans.Kept, known: str, mark_of: Callable[[Record], str], until: float) -> None:
        self.until = until
        self._kept, self._known, self._mark_of = kept, known, mark_of
        self._spoken = 0.0

    def news(self) -> tuple[str, bool]:
        """Return what is to be told now, and whether that is the end of it."""
        try:
            record = plans.own(self._kept.record.id)
            # a list may be long, and is the same as before
            self._kept = plans.kept(record) if record.state.over else replace(self._kept, record=record)
        except (Problem, RedisError):
            # whatever that is, it is told when the client comes again
            return "", True
        told, now = "", time.monotonic()
        if (mark := self._mark_of(record)) != self._known:
            self._known, told = mark, self._event(mark)
        elif now - self._spoken > _SILENT_SECONDS:
            told = _NOTHING
        self._spoken = now if told else self._spoken
        return told, record.state.over or now >= self.until or service().stopping.is_set()

    def _event(self, mark: str) -> str:
        kept = self._kept
        name = "end" if kept.record.state.over else "progress"
        data = json.dumps(render_event(kept.record, kept.job, kept.plan), separators=(",", ":"))
        return f"event: {name}\nid: {mark}\nretry: {_COME_AGAIN_MS}\ndata: {data}\n\n"
