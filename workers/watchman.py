"""The round made every few seconds in each worker: shows that the worker lives, and finds plans that were lost.

A plan is lost when its lease has lapsed (its worker died with everything it had started), or when it is
queued in the store but on no queue (a worker died in the instant of taking it, or the API before
queueing it). The round also sees that crews' weeks are planned every night (``nights``). Nothing here relies
on rq's own maintenance, which an idle worker puts off for minutes.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread
from typing import cast

from redis import Redis
from redis.exceptions import ConnectionError as RedisConnectionError
from redis.exceptions import RedisError
from redis.exceptions import TimeoutError as RedisTimeoutError

from workers.codec import Unreadable
from workers.nights import tick
from workers.queues import enqueue, queued
from workers.record import UNREADABLE, State
from workers.recovery import recover
from workers.store import PREFIX, Store
from workers.timing import ALIVE_SECONDS, LEASE_SECONDS, ROUND_SECONDS
from workers.weeks import WeekStore

WORKERS = PREFIX + "workers"
COUNTER_ONLY = "counter:"
"""How the name of a worker begins that serves the counter alone."""
_TURN = PREFIX + "watch"
_SURELY_QUEUED = 2

log = logging.getLogger(__name__)


class Watchman:
    """A thread that makes the round for one worker until stopped."""

    def __init__(self, redis: Redis, name: str) -> None:
        self._store = Store(redis)
        self._weeks = WeekStore(redis)
        self._name = name
        self._missing: set[tuple[str, int]] = set()
        self._over = Event()
        self._thread = Thread(target=self._run, name="watchman", daemon=True)

    def start(self) -> None:
        """Begin the rounds."""
        self._thread.start()

    def stop(self) -> None:
        """End the rounds; the worker is no longer counted."""
        self._over.set()
        try:
            self._store.redis.zrem(WORKERS, self._name)
        except RedisError:
            log.warning("no Redis to sign off from")

    def round(self) -> None:
        """Show that this worker lives and, if it is this worker's turn, look after lost plans."""
        redis = self._store.redis
        redis.zadd(WORKERS, {self._name: redis.time()[0]})
        if redis.set(_TURN, self._name, nx=True, px=int(ROUND_SECONDS * 900)):
            self._recover_lapsed()
            self._queue_missing()
            tick(self._weeks)

    def _run(self) -> None:
        pause: float = 0
        while not self._over.wait(pause):
            pause = ROUND_SECONDS
            try:
                self.round()
            except RedisError:
                # leases could not be renewed either while Redis was away: give the living time to
                log.warning("no Redis to make the round in", exc_info=True)
                pause = LEASE_SECONDS
            except Exception:
                # nobody else finds what was lost, so whatever this was, the next round is made
                log.exception("a round was not finished")

    def _recover_lapsed(self) -> None:
        for plan_id in self._store.lapsed():
            with _going_on(plan_id):
                self._recover(plan_id)

    def _recover(self, plan_id: str) -> None:
        record = self._store.fetch(plan_id)
        if record and record.state is State.RUNNING:
            log.warning("plan %s has lost its worker", plan_id)
            recover(self._store, record, lapsed=True)
        elif record and record.failure == UNREADABLE:
            self._bury(plan_id)

    def _queue_missing(self) -> None:
        on_queues = queued(self._store.redis)
        missing: set[tuple[str, int]] = set()
        for plan_id in self._store.waiting(_SURELY_QUEUED):
            with _going_on(plan_id):
                record = self._store.fetch(plan_id)
                if record and record.failure == UNREADABLE:
                    self._bury(plan_id)
                elif record and record.state is State.QUEUED and (plan_id, record.generation) not in on_queues:
                    missing.add((plan_id, record.generation))
        for plan_id, generation in missing & self._missing:
            with _going_on(plan_id):
                self._queue_again(plan_id, generation)
        self._missing = missing - self._missing

    def _queue_again(self, plan_id: str, generation: int) -> None:
        record = self._store.fetch(plan_id)
        if record is None:
            return
        try:
            job = self._store.job(plan_id)
        except Unreadable:
            self._store.give_up(record, State.FAILED, UNREADABLE)
            return
        if job:
            log.warning("plan %s was on no queue", plan_id)
            enqueue(self._store.redis, record.queue, plan_id, generation, job.seconds, first=True)

    def _bury(self, plan_id: str) -> None:
        log.error("the record of plan %s can't be read; the plan ends as failed", plan_id)
        self._store.bury(plan_id)


@contextmanager
def _going_on(plan_id: str) -> Iterator[None]:
    """Let what is wrong with one plan keep no other from being found; without Redis there is no going on."""
    try:
        yield
    except (RedisConnectionError, RedisTimeoutError):
        raise
    except Exception:
        log.exception("plan %s could not be looked after", plan_id)


def living_workers(redis: Redis) -> tuple[int, int]:
    """Return how many workers were seen lately, and how many of them make any plan and not the counter's alone."""
    now = redis.time()[0]
    redis.zremrangebyscore(WORKERS, 0, now - 20 * ALIVE_SECONDS)
    names = cast("list[bytes]", redis.zrangebyscore(WORKERS, now - ALIVE_SECONDS, "+inf"))
    return len(names), sum(not name.startswith(COUNTER_ONLY.encode()) for name in names)
