"""A night of many crews, with every worker killed halfway: begun again it ends the same, nothing planned twice."""

from __future__ import annotations

import os
import random
import signal
import time
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from solver.required import Required
from solver.weekly.moment import moment_of
from solver.weekly.planning import plan_week
from solver.weekly.week import DatedJob, Delivery, Week, WeekLimits
from tests.scenario import inches
from tests.support.shed import shed
from tests.support.stack import Stack, alive, descendants, eventually
from tests.support.weeks import monday_due, week
from workers.plans.record import State
from workers.queues import BATCH, enqueue
from workers.shares import DAYTIME, MOST_YIELDS, NIGHTS, Night
from workers.weeks.record import Outcome, WeekKey, Why
from workers.weeks.scheduler import schedule
from workers.weeks.store import WeekStore

CREWS = 6


def crew_week(seed: int) -> Week:
    """Return five jobs of eight lines each, that take a worker some moments."""
    chance, monday = random.Random(seed), monday_due()
    year, number, _ = monday.isocalendar()
    jobs = tuple(
        DatedJob(
            f"job-{n}",
            monday + timedelta(days=n),
            tuple(
                Required(f"{n}{place}", "panel-sand", inches(chance.randint(30, 140)), chance.randint(1, 4))
                for place in range(8)
            ),
        )
        for n in range(5)
    )
    return replace(
        week(), crew=f"crew-{seed}", year=year, number=number, jobs=jobs, deliveries=(Delivery(monday),),
        limits=WeekLimits(carry=3),
    )  # fmt: skip


def kill(running: Stack) -> None:
    """Kill every worker and whatever it has started, at once."""
    doomed = [pid for worker in running.workers for pid in (worker.pid, *descendants(worker.pid))]
    for pid in doomed:
        # what a worker has started may have died with it already
        with suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    for worker in running.workers:
        worker.wait()
    eventually(lambda: not any(alive(pid) for pid in doomed))


def test_killed_halfway_and_begun_again(alone: Stack) -> None:
    """Some weeks have their plan when all workers die; the next workers plan the others, and every plan is the same."""
    store, asked = WeekStore(alone.store.redis), [crew_week(seed) for seed in range(CREWS)]
    keys = [WeekKey("anybody", one.crew, one.name) for one in asked]
    for key, one in zip(keys, asked, strict=True):
        store.change(key, lambda _, one=one: one)  # type: ignore[misc]
    expected = [plan_week(one, moment_of(one, datetime.now(UTC)), time.monotonic) for one in asked]
    alone.start_worker()
    alone.start_worker()
    schedule(store)
    eventually(lambda: any(store.runs(key) for key in keys))
    kill(alone)
    done = sum(bool(store.runs(key)) for key in keys)
    assert 0 < done < CREWS
    alone.start_worker()
    alone.start_worker()
    eventually(lambda: all(store.runs(key) for key in keys))
    for key, plan in zip(keys, expected, strict=True):
        kept = store.fetch(key)
        assert kept is not None
        assert kept.plan == plan
        assert [(run.why, run.outcome) for run in store.runs(key)] == [(Why.NIGHT, Outcome.PLANNED)]


def test_a_night_keeps_no_plan_of_the_day_waiting(alone: Stack) -> None:
    """Two nights that never end: the only worker lets go of one for a plan; of two workers one takes none by day.

    So the second plan finds a worker idle, and no night gives way for it. Once nobody asks any more, both take one.
    """
    redis, store = alone.store.redis, WeekStore(alone.store.redis)
    for name in ("hang-a", "hang-b"):
        store.change(WeekKey("anybody", name, crew_week(1).name), lambda _, crew=name: replace(crew_week(1), crew=crew))  # type: ignore[misc]
    schedule(store)
    for _ in range(2):
        alone.start_worker(stubbed=True)
        schedule(store)
        eventually(lambda: redis.zcard(NIGHTS) == 1)
        assert alone.settled(alone.posted(shed())).state is State.SUCCEEDED
        assert [redis.get(name) for name in redis.scan_iter("lapstock:week-yields:*")] == [b"1"]
    assert redis.zcard(NIGHTS) == 1
    redis.delete(DAYTIME)
    eventually(lambda: redis.zcard(NIGHTS) == 2)


def test_a_night_that_gave_way_so_often_is_planned_to_its_end(alone: Stack) -> None:
    """Whatever waits of the day waits then; and a plan that was not there a moment ago is not waited for yet."""
    redis = alone.store.redis
    enqueue(redis, BATCH, "ada", "a" * 32, 1, 10)
    for _ in range(MOST_YIELDS):
        night = Night(redis, "c0ffee")
        assert [night.must_yield() for _ in range(3)] == [False, True, False]
        night.end(yielded=True)
    night = Night(redis, "c0ffee")
    assert [night.must_yield() for _ in range(3)] == [False] * 3
    night.end(yielded=False)
    assert redis.keys("lapstock:week-yields:*") == []
