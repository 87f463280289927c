"""What a worker runs for a crew's week: plans it as it is kept, and leaves a record whatever happens."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Collection
from dataclasses import replace
from datetime import UTC, date, datetime
from threading import Event, Thread
from typing import Self

from redis import Redis
from redis.exceptions import RedisError
from rq.timeouts import JobTimeoutException

from solver.errors import PlanRefused, Unplannable
from solver.weekly.moment import moment_of
from solver.weekly.plan import WeekPlan
from solver.weekly.planning import plan_week
from solver.weekly.summary import causes
from solver.weekly.week import Week
from workers import PREFIX
from workers.codec import Unreadable
from workers.connection import patient, redis_url
from workers.process import BEAT_SECONDS, LEASE_SECONDS
from workers.rack.store import Rack, Taken, lying
from workers.rack.weekly import draws, hold, offered
from workers.shares import Night
from workers.weeks.record import UNREADABLE_WEEK, KeptWeek, Outcome, Run, Waiting, WeekKey, Why, failed_run
from workers.weeks.store import WeekStore, record_name

TRIES = 3
"""A week that changes while it is planned is planned again, so often."""
log = logging.getLogger(__name__)


def plan_kept_week(client: str, crew: str, week: str, night: str | None) -> None:
    """Plan a week for a night (an ISO date), or because somebody asked (None), unless that has been done."""
    redis = patient(redis_url())
    key = WeekKey(client, crew, week)
    place = Night(redis, key.digest) if night else None
    with _Lease(redis, key, place) as lease:
        run_week(
            WeekStore(redis), key, date.fromisoformat(night) if night else None, gives_way=lease.gives_way.is_set
        )


def run_week(
    store: WeekStore,
    key: WeekKey,
    night: date | None,
    now: datetime | None = None,
    gives_way: Callable[[], bool] = lambda: False,
) -> None:
    """Plan and keep, again where the week has changed meanwhile; a night that has been planned is left alone.

    Once it ``gives_way`` it comes back with nothing kept: it is still due, and is queued again in the next round.
    """
    for attempt in range(1, TRIES + 1):
        try:
            kept = store.fetch(key)
        except Unreadable:
            give_up_unreadable(store, key, night, now or datetime.now(UTC))
            return
        if kept is None or not wanted(kept, night):
            return
        week = _offered(store, kept, more=attempt < TRIES)
        told = [words for run in store.runs(key) for words in run.because]
        plan, run = _planned(replace(kept, week=week), night, now or datetime.now(UTC), told, gives_way)
        if gives_way():
            log.info("week %s of %s gives way to the day", key.week, key.crew)
            return
        try:
            holding = _held(store, kept, week, plan) if plan else None
        except Taken:
            continue
        if store.finish(kept, plan, run, holding):
            return
    log.warning("week %s of %s changed while it was planned, %d times", key.week, key.crew, TRIES)


def _offered(store: WeekStore, kept: KeptWeek, *, more: bool) -> Week:
    """Return a week with what it may use of the rack; without ``more`` that is what it holds already.

    What it holds is asked of the rack: a run that was dropped may have held what the week does not know of.
    """
    entries = lying(Rack(store.redis, kept.key.client))
    return offered(kept.week, entries, record_name(kept.key), more=more)


def _held(store: WeekStore, kept: KeptWeek, week: Week, plan: WeekPlan) -> Week | None:
    """Hold what a plan uses of the rack, and return the week with it. Raises ``Taken`` where others have it by now."""
    if not draws(kept.week) and not draws(week):
        return None
    return hold(Rack(store.redis, kept.key.client), record_name(kept.key), week, plan)


def give_up_unreadable(store: WeekStore, key: WeekKey, night: date | None, now: datetime) -> None:
    """Leave a record of a week that can't be read, and try it no more until it is put again."""
    log.error("week %s of %s can't be read", key.week, key.crew)
    store.set_aside(key, failed_run(now, night, UNREADABLE_WEEK))


def wanted(kept: KeptWeek | Waiting, night: date | None) -> bool:
    """Whether a run is still to be made: its night has not been planned, or a version asked for has not."""
    if night is not None:
        return kept.night is None or kept.night < night
    return kept.asked > 0


def lease_name(key: WeekKey) -> str:
    """Return the name under which whoever plans a week shows that it lives."""
    return f"{PREFIX}week-lease:{key.digest}"


def _planned(
    kept: KeptWeek, night: date | None, now: datetime, told: Collection[str], gives_way: Callable[[], bool]
) -> tuple[WeekPlan | None, Run]:
    began = time.monotonic()
    plan, outcome, details = _outcome(kept, now, gives_way)
    run = Run(
        at=now,
        why=Why.of(night),
        night=night,
        outcome=outcome,
        changes=plan.changes if plan else 0,
        bill_before=kept.plan.bill if kept.plan else None,
        bill_after=plan.bill if plan else None,
        seconds=round(time.monotonic() - began, 3),
        details=details,
        because=causes(kept.week, kept.plan, told),
    )
    return plan, run


def _outcome(
    kept: KeptWeek, now: datetime, gives_way: Callable[[], bool]
) -> tuple[WeekPlan | None, Outcome, tuple[str, ...]]:
    try:
        plan = plan_week(kept.week, moment_of(kept.week, now, kept.plan), time.monotonic, gives_way)
    except Unplannable as error:
        details = tuple(f"{problem.pointer}: {problem.detail}" for problem in error.problems)
        return None, Outcome.UNPLANNABLE, details
    except PlanRefused as error:
        log.exception("the checker refused the plan of a week")
        return None, Outcome.FAILED, (f"The independent check refused the plan that was found: {error}",)
    except JobTimeoutException:
        return None, Outcome.FAILED, ("The planning did not come back in time and was cut off.",)
    except MemoryError:
        return None, Outcome.FAILED, ("The week needs more memory than one plan is given; divide it.",)
    except Exception:
        # whatever is wrong with one crew's week must not keep the others from theirs, nor be tried all night
        log.exception("planning a week failed")
        return None, Outcome.FAILED, ("Planning failed by a fault of this program; it has been logged.",)
    return plan, Outcome.PLANNED, plan.notes


class _Lease:
    """Shows that somebody plans a week, and whether its night is to give way, while its ``with`` block lasts."""

    def __init__(self, redis: Redis, key: WeekKey, night: Night | None) -> None:
        self.gives_way = Event()
        self._redis, self._name, self._night = redis, lease_name(key), night
        self._over = Event()
        self._thread = Thread(target=self._run, name="lease", daemon=True)

    def __enter__(self) -> Self:
        self._redis.set(self._name, "1", ex=LEASE_SECONDS)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()
        self._redis.delete(self._name)
        if self._night:
            self._night.end(yielded=self.gives_way.is_set())

    def _run(self) -> None:
        while not self._over.wait(max(0.5, BEAT_SECONDS)):
            try:
                self._redis.set(self._name, "1", ex=LEASE_SECONDS)
                if self._night and self._night.must_yield():
                    self.gives_way.set()
            except RedisError:
                log.warning("no Redis to show that a week is being planned")
