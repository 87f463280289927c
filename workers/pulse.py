"""The sign of life of a plan being made: renews its lease, carries its progress out and a cancel in."""

from __future__ import annotations

import logging
from threading import Event, Thread
from types import TracebackType
from typing import Self

from redis.exceptions import RedisError

from solver import Progress
from workers.store import Store
from workers.timing import BEAT_SECONDS

log = logging.getLogger(__name__)


class Pulse:
    """A thread that beats for one plan while its ``with`` block lasts."""

    def __init__(self, store: Store, plan_id: str, generation: int) -> None:
        self._store = store
        self._plan = (plan_id, generation)
        self._latest: Progress | None = None
        self._cancelled = Event()
        self._over = Event()
        self._thread = Thread(target=self._run, name="pulse", daemon=True)

    def cancelled(self) -> bool:
        """Whether to stop: somebody asked for it, or another worker has taken the plan over."""
        return self._cancelled.is_set()

    def report(self, progress: Progress) -> None:
        """Take the latest progress; it goes out with the next beat."""
        self._latest = progress

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._over.wait(BEAT_SECONDS):
            try:
                answer = self._store.beat(*self._plan, self._latest)
            except RedisError:
                log.warning("no Redis to tell the progress of %s", self._plan[0])
                continue
            if answer != "go on":
                self._cancelled.set()
