"""Waiting for an end: ``held`` where the server keeps an answer back, ``wait`` for a page that waits a moment.

A thread that waits can serve nobody else. So where the server can do so, it puts a request whose answer is ``held``
aside with no thread to it, and calls the app for it again when there may be news or its time is up. Under a server
that can't, and in tests without one, a few may wait in their threads. An answer may also be ``streamed``: what there is
of it is sent, and then it is held.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, nullcontext
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar, cast

from flask import Flask, Response, copy_current_request_context, g, request, stream_with_context

from service.state import service

SEAT = "lapstock.seat"
"""Where a WSGI environment has the ``Seat`` of its request, if the server has one free."""
DESK, AT_DESK = "lapstock.desk", "lapstock.at-desk"
"""Where a WSGI environment has the server's ``Desk`` (``service.finished``); what it has where that calls the app."""
_LOOK_SECONDS = 0.25
"""How often whoever waits in a thread looks without having been told: what a lost notice costs there."""
T = TypeVar("T")
More = Callable[[], tuple[str, bool]]
"""What there is to send of a stream by now, and whether it is over with that."""


@dataclass(frozen=True, slots=True)
class Awaited(Generic[T]):
    """Something that may come to its end: as it was, whose notices tell of it, how to look, and whether that is it."""

    value: T
    subject: str
    look: Callable[[], T]
    over: Callable[[T], bool]


@dataclass(frozen=True, slots=True)
class Waited(Generic[T]):
    """What was seen last, and for how many seconds the answer might be held: None where it was not to be held."""

    value: T
    seconds: float | None


class Seat(Protocol):
    """Where the server keeps a request that is held."""

    resume: Callable[[], Response] | None
    """How its answer is made, set while it is held."""
    more: More | None
    """How its answer goes on that is sent by and by."""

    def take(self, notices: AbstractContextManager[object], until: float) -> None:
        """Keep it until ``wake`` or the time ``until``, on the monotonic clock; ``notices`` are left with the seat."""

    def wake(self) -> None:
        """Have the app called again."""


class Held(BaseException):
    """Ends a call of the app without an answer: its request keeps its seat. It is no error, and handled as none."""


def wait(awaited: Awaited[T], seconds: float) -> Waited[T]:
    """Look at each notice, and now and then, until it is over or the time is, in this thread.

    As many as may wait so may be waiting already: then not at all.
    """
    granted = min(seconds, service().config.longest_wait)
    if awaited.over(awaited.value) or not granted:
        return Waited(awaited.value, granted)
    if not service().waiters.acquire(blocking=False):
        return Waited(awaited.value, None)
    try:
        with service().notices.of(awaited.subject) as news:
            until = time.monotonic() + granted
            # it may have ended before anybody could be told
            while not awaited.over(value := awaited.look()) and (left := until - time.monotonic()) > 0:
                if service().stopping.is_set():
                    break
                news.wait(min(left, _LOOK_SECONDS))
                news.clear()
    finally:
        service().waiters.release()
    return Waited(value, granted)


def held(awaited: Awaited[T], seconds: float, answer: Callable[[Waited[T]], Response]) -> Response:
    """Return the answer for what was waited for; where the server can, nothing waits for it meanwhile."""
    granted = min(seconds, service().config.longest_wait)
    seat = cast("Seat | None", request.environ.get(SEAT))
    if seat is None or not granted or awaited.over(awaited.value):
        return answer(wait(awaited, seconds))
    until = time.monotonic() + granted

    @_with_all_that_is_known
    def resume() -> Response:
        value = awaited.look()
        if awaited.over(value) or time.monotonic() >= until or service().stopping.is_set():
            return answer(Waited(value, granted))
        raise Held

    seat.resume = resume
    seat.take(service().notices.to(seat.wake, awaited.subject), until)
    # it may have ended before anybody could be told
    return resume()


class Full(Exception):
    """As many as may wait are waiting."""


def streamed(response: Response, subject: str, more: More, until: float, left: ExitStack) -> Response:
    """Send what ``more`` gives at each notice of a subject, and now and then, until it is over.

    ``left`` is closed in the end. Raises ``Full`` where the server has no room for it.
    """
    seat = cast("Seat | None", request.environ.get(SEAT))
    if seat is None:
        if not service().waiters.acquire(blocking=False):
            raise Full
        left.callback(service().waiters.release)
        response.response = stream_with_context(_by_and_by(subject, more, left))
        response.call_on_close(left.close)
        return response
    seat.more = copy_current_request_context(_with_all_that_is_known(more))
    left.enter_context(service().notices.to(seat.wake, subject))
    seat.take(left, until)
    response.response = iter(())
    return response


def _by_and_by(subject: str, more: More, left: ExitStack) -> Iterator[str]:
    with left, service().notices.of(subject) as news:
        while True:
            text, over = more()
            yield text
            if over:
                return
            news.wait(_LOOK_SECONDS)
            news.clear()


def put_off(resume: Callable[[], Response], seconds: float) -> None:
    """Hold this request and answer it as ``resume`` does after so many seconds; without a seat nothing is done."""
    seat = cast("Seat | None", request.environ.get(SEAT))
    if seat is None:
        return
    seat.resume = _with_all_that_is_known(resume)
    seat.take(nullcontext(), time.monotonic() + seconds)
    raise Held


def _with_all_that_is_known(resume: Callable[[], T]) -> Callable[[], T]:
    """Return ``resume`` for a later call of the app, where what is known of this request is known again."""
    about = {name: g.get(name) for name in g}

    def again() -> T:
        for name, value in about.items():
            setattr(g, name, value)
        return resume()

    return again


def install(app: Flask) -> None:
    """Answer a held request from where it was left; what is to be done before any request was done for it."""

    def go_on() -> Response | None:
        seat = cast("Seat | None", request.environ.get(SEAT))
        return seat.resume() if seat and seat.resume else None

    app.before_request(go_on)
