"""What was answered of finished plans, kept in this process so that nobody waits for the same answer to be made again.

An answer is kept by a digest of everything that it was made of. So nothing has to be thrown out when a plan or its
owner's settings change, and what is forgotten, expired or damaged is never answered from here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from threading import Lock
from typing import Any, Protocol, cast

from cachetools import LRUCache
from flask import Response, current_app, request

from service import plans
from service.http.waiting import DESK, put_off
from service.letterhead import company
from service.state import store

MOST_BYTES = 16 * 1024 * 1024
"""So much is kept in a process; what was not asked for longest goes first."""
_BESIDE = 1_024
"""Bytes reckoned for what an answer takes beside its body."""
_KEPT = "lapstock.finished"
_BUSY_SECONDS = 0.2
"""After which it is worth asking again for a place at the desk."""


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

    def answer(self, environ: Mapping[str, Any]) -> Response | None:
        """Return the answer to a request, None where the desk is no more. Raises ``RuntimeError`` where it fails."""


def finished(plan_id: str, make: Callable[[], Response], *, long: bool = False) -> Response:
    """Return the answer to this request for something of a plan, made only if it was not made before.

    ``make`` may go by the plan, its owner's settings and the request's address, and by nothing else. What is asked of
    plans without a result, and whatever is no answer, is made each time. What takes ``long`` is made at the desk, if
    the server has one. Raises ``Problem``.
    """
    if not plans.own(plan_id).has_plan:
        return make()
    # looked at before it is made, so that an answer is at least as new as what it is kept by
    key = sha256(repr((store().digest(plan_id), company(), request.url)).encode()).hexdigest()
    answers: Answers = current_app.extensions.setdefault(_KEPT, Answers())
    if answer := answers.get(key):
        return answer.response()
    desk = cast("Desk | None", request.environ.get(DESK)) if long else None
    if desk and not desk.take():
        put_off(partial(finished, plan_id, make, long=long), _BUSY_SECONDS)
        # it can't be held: a thread that would wait for a place may as well make it
        desk = None
    response = (desk.answer(request.environ) if desk else None) or make()
    if response.status_code == 200:
        answers.put(key, Answer.of(response))
    return response
