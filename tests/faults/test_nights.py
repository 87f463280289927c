"""A night of many crews, with every worker killed halfway: begun again it ends the same, nothing planned twice."""

from __future__ import annotations

import os
import random
import signal
import time
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from solver.required import Required
from solver.week import plan_week
from solver.weekly.moment import moment_of
from solver.weekly.week import DatedJob, Delivery, Week, WeekLimits
from tests.scenario import inches
from tests.support.stack import Stack, alive, descendants, eventually
from tests.support.weeks import week
from workers.weeks.record import Outcome, WeekKey, Why
from workers.weeks.scheduler import schedule
from workers.weeks.store import WeekStore

CREWS = 6


def next_monday() -> date:
    """Return the Monday after today: its week is planned in this very night."""
    today = datetime.now(UTC).date()
    return today + timedelta(days=7 - today.weekday())


def crew_week(seed: int) -> Week:
    """Return five jobs of eight lines each, that take a worker some moments."""
    chance, monday = random.Random(seed), next_monday()
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
