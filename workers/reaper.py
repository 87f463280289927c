"""The reaper: every few seconds each worker shows that it lives, and finds plans whose worker is gone.

A plan is lost when its lease has expired (its worker died with everything it had started), or when it is
queued in the store but on no queue (a worker died in the instant of taking it, or the API before
queueing it). It is tried again, and no blame is laid on it; a plan whose own process dies under a living worker is
tried once more, then given up with a reason. The sweep also has crews' weeks planned every
night (``scheduler``). Nothing here relies on rq's own maintenance, which an idle worker puts off for minutes.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Event, Thread
from typing import cast

from redis import Redis
from redis.exceptions import RedisError

from workers import PREFIX
from workers.codec import Unreadable, reading
from workers.connection import UNREACHABLE
from workers.plans.record import MOST_DEATHS, MOST_TRIES, UNREADABLE, Failure, Record, State
from workers.plans.store import RUNNING, WAITING, Store
from workers.process import ALIVE_SECONDS, LEASE_SECONDS, SWEEP_SECONDS
from workers.queues import enqueue, queued
from workers.shares import INTERACTIVE_ONLY, NEWCOMERS_ONLY, WORKERS
from workers.weeks.scheduler import schedule
from workers.weeks.store import WeekStore

_ROUND_SECONDS = 4 * ALIVE_SECONDS
"""A round after which so long none was made is taken for the last; many weeks take a while to go through."""
_KEPT_BACK = (INTERACTIVE_ONLY, NEWCOMERS_ONLY)
POISONED = Failure(
    "worker_died",
    f"The process planning this died {MOST_DEATHS} times, perhaps for lack of memory; divide the job and try again.",
)
FORSAKEN = Failure(
    "worker_lost",
    f"Workers went away {MOST_TRIES} times while they planned this. Look after the workers, and post it again.",
)
_TURN = PREFIX + "watch"
_TAKE_TURN = """
-- KEYS: turn
-- ARGV: milliseconds that it lasts
local now = redis.call('TIME')
now = now[1] * 1000 + math.floor(now[2] / 1000)
local since = redis.pcall('GET', KEYS[1])
since = type(since) == 'string' and tonumber(since)
if since and since <= now and now - since < tonumber(ARGV[1]) then return 0 end
redis.call('SET', KEYS[1], string.format('%.0f', now), 'PX', ARGV[1])
return 1
"""
"""Take the turn where nobody has it. The key expires too late where the clock was set back, so it says since when."""
_ROUND = PREFIX + "watched"
_SURELY_QUEUED = 2

log = logging.getLogger(__name__)


class Reaper:
    """A thread that sweeps for one worker until stopped."""

    def __init__(self, redis: Redis, name: str) -> None:
        self._store = Store(redis)
        self._weeks = WeekStore(redis)
        self._name = name
        self._missing: set[tuple[str, int]] = set()
        self._over = Event()
        self._thread = Thread(target=self._run, name="reaper", daemon=True)

    def start(self) -> None:
        """Begin to sweep."""
        self._thread.start()

    def stop(self) -> None:
        """Sweep no more; the worker is no longer counted."""
        self._over.set()
        try:
            self._store.redis.zrem(WORKERS, self._name)
        except RedisError:
            log.warning("no Redis to sign off from")

    def sweep(self) -> None:
        """Show that this worker lives and, if it is this worker's turn, look after lost plans."""
        redis = self._store.redis
        now = redis.time()[0]
        redis.zadd(WORKERS, {self._name: now})
        redis.zremrangebyscore(WORKERS, 0, now - 20 * ALIVE_SECONDS)
        if redis.eval(_TAKE_TURN, 1, _TURN, int(SWEEP_SECONDS * 900)):
            for part in (self._recover_expired, self._queue_missing, self._store.prune, self._plan_weeks):
                with _going_on(part.__name__):
                    part()
            redis.set(_ROUND, redis.time()[0])

    def _plan_weeks(self) -> None:
        schedule(self._weeks)

    def _run(self) -> None:
        pause: float = 0
        while not self._over.wait(pause):
            pause = SWEEP_SECONDS
            try:
                self.sweep()
            except RedisError:
                # leases could not be renewed either while Redis was away: give the living time to
                log.warning("no Redis to sweep", exc_info=True)
                pause = LEASE_SECONDS
            except Exception:
                # nobody else finds what was lost, so whatever this was, the next sweep is made
                log.exception("a sweep was not finished")

    def _recover_expired(self) -> None:
        for plan_id in expired(self._store.redis):
            with self._burying(plan_id):
                self._recover(plan_id)

    def _recover(self, plan_id: str) -> None:
        record = self._store.fetch(plan_id)
        if record and record.state is State.RUNNING:
            log.warning("plan %s has lost its worker", plan_id)
            recover(self._store, record, expired=True)
        elif record and record.failure == UNREADABLE:
            self._bury(plan_id)

    def _queue_missing(self) -> None:
        on_queues = queued(self._store.redis)
        missing: set[tuple[str, int]] = set()
        for plan_id in waiting(self._store.redis, _SURELY_QUEUED):
            with self._burying(plan_id):
                record = self._store.fetch(plan_id)
                if record and record.failure == UNREADABLE:
                    self._bury(plan_id)
                elif record and record.state is State.QUEUED and (plan_id, record.generation) not in on_queues:
                    missing.add((plan_id, record.generation))
        for plan_id, generation in missing & self._missing:
            with self._burying(plan_id):
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
            enqueue(self._store.redis, record.queue, record.client, plan_id, generation, job.seconds, first=True)

    @contextmanager
    def _burying(self, plan_id: str) -> Iterator[None]:
        """End a plan that can't be handled for what it is, so that no later round meets it again."""
        with _going_on(plan_id):
            try:
                yield
            except RedisError:
                raise
            except Exception:
                self._bury(plan_id)
                raise

    def _bury(self, plan_id: str) -> None:
        log.error("the record of plan %s can't be read; the plan ends as failed", plan_id)
        self._store.bury(plan_id)


def expired(redis: Redis) -> list[str]:
    """Return the running plans whose lease has run out."""
    now = redis.time()[0]
    # no lease is so long: this one was given before the clock was set back
    for member in cast("list[bytes]", redis.zrangebyscore(RUNNING, now + 2 * LEASE_SECONDS, "+inf")):
        redis.zadd(RUNNING, {member: now + LEASE_SECONDS}, lt=True, xx=True)
    members = cast("list[bytes]", redis.zrangebyscore(RUNNING, 0, now))
    return [member.decode(errors="replace") for member in members]


def waiting(redis: Redis, at_least: int) -> list[str]:
    """Return the plans queued for ``at_least`` so many seconds, or before the clock was set back."""
    now = redis.time()[0]
    ranges = ((0, now - at_least), (now + LEASE_SECONDS, "+inf"))
    members = [each for low, high in ranges for each in cast("list[bytes]", redis.zrangebyscore(WAITING, low, high))]
    return [member.decode(errors="replace") for member in members]


@contextmanager
def _going_on(what: str) -> Iterator[None]:
    """Let what is wrong with one thing keep no other from being found; without Redis there is no going on."""
    try:
        yield
    except UNREACHABLE:
        raise
    except Exception:
        log.exception("%s could not be checked on", what)


def recover(store: Store, record: Record, *, expired: bool = False) -> None:
    """Requeue a plan that has lost its process, or end it.

    Where its lease has ``expired`` its worker or host went away, and it is not to blame; then this is done only if the
    lease has expired by now. Otherwise its process died under a living worker: it may be what killed it, if it was
    running.
    """
    deaths = record.deaths + (record.state is State.RUNNING and not expired)
    if record.cancel_asked:
        store.give_up(record, State.CANCELLED, expired=expired)
    elif deaths >= MOST_DEATHS:
        store.give_up(record, State.FAILED, POISONED, expired=expired)
    elif record.generation >= MOST_TRIES:
        store.give_up(record, State.FAILED, FORSAKEN, expired=expired)
    else:
        _try_again(store, record, deaths, expired=expired)


def hand_back(store: Store, plan_id: str, generation: int) -> None:
    """Requeue a plan whose worker is told to stop at once: nobody's fault, so no death is counted."""
    record = store.fetch(plan_id)
    if record and record.generation == generation and not record.state.over:
        _try_again(store, record, record.deaths, expired=False)


def _try_again(store: Store, record: Record, deaths: int, *, expired: bool) -> None:
    try:
        job = store.job(record.id)
    except Unreadable:
        store.give_up(record, State.FAILED, UNREADABLE, expired=expired)
        return
    if store.requeue(record, deaths=deaths, expired=expired) and job is not None:
        generation = record.generation + 1
        enqueue(store.redis, record.queue, record.client, record.id, generation, job.seconds, first=True)


def last_round(redis: Redis) -> int:
    """Return when a round was last made, in seconds since 1970; 0 where none ever was, or that can't be read."""
    with suppress(Unreadable), reading(_ROUND):
        return int(cast("bytes | None", redis.get(_ROUND)) or 0)
    return 0


def makes_rounds(redis: Redis) -> bool:
    """Whether somebody looks after lost plans and the nights: a round was made lately."""
    return abs(redis.time()[0] - last_round(redis)) <= _ROUND_SECONDS


def living_workers(redis: Redis) -> dict[str, int]:
    """Return how many workers were seen lately: those of any plan, of ``interactive`` and of ``newcomers`` alone."""
    now = redis.time()[0]
    # who was seen later than now was so before the clock was set back
    names = cast("list[bytes]", redis.zrangebyscore(WORKERS, now - ALIVE_SECONDS, now + ALIVE_SECONDS))
    kept_back = {kind: sum(name.startswith(kind.encode()) for name in names) for kind in _KEPT_BACK}
    return {"all": len(names) - sum(kept_back.values())} | {kind[:-1]: count for kind, count in kept_back.items()}
