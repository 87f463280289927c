"""What was answered of finished plans, kept in this process so that nobody waits for the same answer to be made again.

An answer is kept by a digest of everything that it was made of. So nothing has to be thrown out when a plan or its
owner's settings change, and what is forgotten, expired or damaged is never answered from here. What takes long to make
is made at the desk, in a process beside this one; so is all that is asked of a large plan.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import partial, wraps
from hashlib import sha256
from io import BytesIO
from threading import Lock
from typing import Any, Protocol, TypeVar, cast

from cachetools import LRUCache
from flask import Response, current_app, make_response, request
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.http.waiting import DESK, put_off
from service.letterhead import company
from service.state import store

MOST_BYTES = 16 * 1024 * 1024
"""So much is kept in a process; what was not asked for longest goes first."""
LARGE = 16 * 1024
"""Bytes beyond which a plan as it is kept, with its job, or a body is large: what it costs grows with them."""
_BESIDE = 1_024
"""Bytes reckoned for what an answer takes beside its body."""
_KEPT = "lapstock.finished"
_BUSY_SECONDS = 0.2
"""After which it is worth asking again for a place at the desk."""
Made = TypeVar("Made", bound=AnyResponse)


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer's body, and the headers that go with it."""

    body: bytes
    headers: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, response: Response) -> Answer:
        """Return what is to be kept of a response."""
        return cls(response.get_data(), tuple(response.headers))

    @property
    def size(self) -> int:
        """How much of the room it takes, in bytes."""
        return len(self.body) + _BESIDE

    def response(self) -> Response:
        """Return it as it was given."""
        return Response(self.body, headers=self.headers)


class Answers:
    """So many bytes of answers by what they were made of, for all threads of a process."""

    def __init__(self, most_bytes: int = MOST_BYTES) -> None:
        self._kept: LRUCache[str, Answer] = LRUCache(most_bytes, getsizeof=lambda answer: answer.size)
        self._lock = Lock()

    def get(self, key: str) -> Answer | None:
        """Return what is kept, or None."""
        with self._lock:
            return self._kept.get(key)

    def put(self, key: str, answer: Answer) -> None:
        """Keep an answer, unless there is not so much room at all."""
        with self._lock, suppress(ValueError):
            self._kept[key] = answer


class Desk(Protocol):
    """Makes answers in other processes (``service.cli.desk``)."""

    def take(self) -> bool:
        """Take one of its places, if one is free; ``answer`` gives it back."""

    def answer(self, environ: Mapping[str, Any], body: bytes = b"") -> Response | None:
        """Return the answer to a request, None where the desk is no more. Raises ``RuntimeError`` where it fails."""


def finished(plan_id: str, make: Callable[[], Response], *, long: bool = False) -> Response:
    """Return the answer to this request for something of a plan, made only if it was not made before.

    ``make`` may go by the plan, its owner's settings and the request's address, and by nothing else. What is asked of
    plans without a result, and whatever is no answer, is made each time. What takes ``long`` is made at the desk, and
    so is all that is asked of a large plan. Raises ``Problem``.
    """
    if not plans.own(plan_id).has_plan:
        return make()
    # looked at before it is made, so that an answer is at least as new as what it is kept by
    key = sha256(repr((store().digest(plan_id), company(), request.url)).encode()).hexdigest()
    answers: Answers = current_app.extensions.setdefault(_KEPT, Answers())
    if answer := answers.get(key):
        return answer.response()
    long = long or store().weight(plan_id) > LARGE
    response = _at_desk(make, partial(finished, plan_id, make, long=long)) if long else make()
    if response.status_code == 200:
        answers.put(key, Answer.of(response))
    return response


def apart(make: Callable[[], Response], body: bytes | None = None) -> Response:
    """Return the answer to this request, made at the desk; ``body`` is its body where it was read already.

    Raises ``Problem``.
    """
    if body is None:
        body = request.get_data()
    else:
        request.environ["wsgi.input"] = BytesIO(body)
    return _at_desk(make, partial(apart, make, body), body)


def apart_if_long(make: Callable[[], Response]) -> Response:
    """Return the answer to this request, made at the desk where its body is long. Raises ``Problem``."""
    return apart(make) if (request.content_length or 0) > LARGE else make()


def apart_if_large(view: Callable[..., Made]) -> Callable[..., Made | Response]:
    """Have what a view answers of a large plan made at the desk. Raises ``Problem`` where it is another's."""

    @wraps(view)
    def asked(plan_id: str, **rest: str) -> Made | Response:
        if store().weight(plan_id) > LARGE and plans.own(plan_id):
            return apart(lambda: make_response(view(plan_id, **rest)))
        return view(plan_id, **rest)

    return asked


def _at_desk(make: Callable[[], Response], again: Callable[[], Response], body: bytes = b"") -> Response:
    """Return what ``make`` returns, made at the desk if there is one; where that is busy it is asked ``again``."""
    desk = cast("Desk | None", request.environ.get(DESK))
    if desk and not desk.take():
        put_off(again, _BUSY_SECONDS)
        # it can't be held: a thread that would wait for a place may as well make it
        desk = None
    return (desk.answer(request.environ, body) if desk else None) or make()
