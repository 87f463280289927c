"""A worker whose planning misbehaves as the job's name says, so that faults can be had at will.

``die`` aborts the process, ``hang`` goes on until it is cancelled and then gives its first plan, ``deaf`` does not
hear a cancel,
``once`` hangs in its first process and plans in the next, ``refused`` is what the checker refuses,
``asleep`` outstays its welcome, ``greedy`` takes more memory than there is, ``broken`` raises. Any other
name is planned for real. A week of a crew whose name begins with ``hang`` goes on until it is cancelled.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import NoReturn

import solver
from solver import Progress
from solver.errors import PlanRefused
from solver.job import Job
from solver.plan import CutPlan
from solver.weekly.plan import WeekPlan
from solver.weekly.planning import Moment, plan_week
from solver.weekly.week import Week
from workers import week_tasks
from workers.process import die_with_starter
from workers.worker import run

Cancelled = Callable[[], bool]
Report = Callable[[Progress], None]
_plan_job = solver.plan_job


def misbehave(
    job: Job,
    clock: Callable[[], float],
    cancelled: Cancelled = lambda: False,
    report: Report = lambda _: None,
) -> CutPlan:
    """Plan as the job's name says."""
    word = job.name.split(" ")[0]
    if word in _WAYS:
        _WAYS[word](job, cancelled, report)
    return _plan_job(job, clock, cancelled if word == "hang" else lambda: False)


def _die(job: Job, cancelled: Cancelled, report: Report) -> NoReturn:
    del job, cancelled, report
    os.abort()


def _hang(job: Job, cancelled: Cancelled, report: Report) -> None:
    del job
    report(Progress(Decimal("60.00"), Decimal("55.50")))
    while not cancelled():
        time.sleep(0.02)


def _once(job: Job, cancelled: Cancelled, report: Report) -> None:
    """Hang where the file named in the job's name is missing; it is made on the way."""
    witness = Path(job.name.split(" ", 1)[1])
    if not witness.exists():
        witness.touch()
        _hang(job, cancelled, report)


def _deaf(job: Job, cancelled: Cancelled, report: Report) -> None:
    del job, cancelled, report
    time.sleep(2)


def _asleep(job: Job, cancelled: Cancelled, report: Report) -> None:
    del job, cancelled, report
    time.sleep(600)


def _refused(job: Job, cancelled: Cancelled, report: Report) -> NoReturn:
    del job, cancelled, report
    raise PlanRefused(["the cuts are longer than the stick"])


def _greedy(job: Job, cancelled: Cancelled, report: Report) -> None:
    del job, cancelled, report
    bytearray(10**12)


def _broken(job: Job, cancelled: Cancelled, report: Report) -> NoReturn:
    del job, cancelled, report
    raise RuntimeError("no such thing")


def misbehave_all_week(week: Week, moment: Moment, clock: Callable[[], float], cancelled: Cancelled) -> WeekPlan:
    """Plan as the crew's name says."""
    while week.crew.startswith("hang") and not cancelled():
        time.sleep(0.02)
    return plan_week(week, moment, clock, cancelled)


_WAYS: dict[str, Callable[[Job, Cancelled, Report], None]] = {
    "die": _die, "hang": _hang, "once": _once, "deaf": _deaf, "asleep": _asleep, "refused": _refused,
    "greedy": _greedy, "broken": _broken,
}  # fmt: skip

if __name__ == "__main__":
    solver.plan_job = misbehave
    vars(week_tasks)["plan_week"] = misbehave_all_week
    if "--die-with-parent" in sys.argv:
        die_with_starter()
    run(newcomers="--newcomers" in sys.argv)
