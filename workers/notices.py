"""Notices: whoever ends a plan or the planning of a week publishes its id, and whoever waits for it is woken.

Whoever changes a plan on the way publishes its id with ``CHANGED`` behind it, for those who follow it.

A notice is no promise: one that is published while Redis or the connection is away is lost. So whoever waits looks for
itself too, every now and then; a notice only has it look sooner.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Lock, Thread
from typing import Any

from redis import Redis, RedisError

from workers import PREFIX

NEWS = PREFIX + "ended"
"""The channel on which the id of what has come to its end is published."""
CHANGED = "/changed"
"""What stands behind the id of a plan that has changed, its end among that."""
_LISTEN_SECONDS = 5.0
_AWAY_SECONDS = 0.5
log = logging.getLogger(__name__)


class Notices:
    """One subscription for all who wait in this process; it begins with the first of them."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis
        self._lock = Lock()
        self._waiting: dict[str, list[Callable[[], None]]] = {}
        self._listens = False

    @contextmanager
    def of(self, subject: str) -> Iterator[Event]:
        """Yield an event that is set whenever there may be news of a plan's or a week's id."""
        news = Event()
        with self.to(news.set, subject):
            yield news

    @contextmanager
    def to(self, wake: Callable[[], None], subject: str) -> Iterator[None]:
        """Have ``wake`` called whenever there may be news of a plan's or a week's id; it must not take long."""
        with self._lock:
            self._waiting.setdefault(subject, []).append(wake)
            begin, self._listens = not self._listens, True
        if begin:
            Thread(target=self._listen, name="notices", daemon=True).start()
        try:
            yield
        finally:
            with self._lock:
                self._waiting[subject].remove(wake)
                if not self._waiting[subject]:
                    del self._waiting[subject]

    def _listen(self) -> None:
        while True:
            try:
                self._hear()
            except RedisError as error:
                # away, or stopped with everything else
                log.warning("no notices are heard: %s", error)
            except Exception:
                # whatever this was, those who wait still look for themselves, and it is tried again
                log.warning("no notices are heard", exc_info=True)
            with self._lock:
                if not self._waiting:
                    self._listens = False
                    return
            time.sleep(_AWAY_SECONDS)

    def _hear(self) -> None:
        with self._redis.pubsub() as subscription:  # type: ignore[no-untyped-call]
            subscription.subscribe(NEWS)
            while True:
                message: Any = subscription.get_message(timeout=_LISTEN_SECONDS)
                if message and message["type"] == "message":
                    self._wake(message["data"].decode(errors="replace"))
                elif message:
                    # subscribed: what was published before this was not heard
                    self._wake(*self._waiting)

    def _wake(self, *subjects: str) -> None:
        with self._lock:
            for subject in subjects:
                for wake in self._waiting.get(subject, ()):
                    wake()
