"""The independent checker of weeks: no plan of a week leaves without it.

Every day's sheet is a job and a cut plan and passes the checker of plans (``solver.check``) by itself. This page
holds the days together, from the week as it was asked for and sharing no code with whoever planned it: each job's
pieces on its day, what is brought there by an earlier day or from the rack and used once, nothing cut before it is
delivered, no more carried at night than the van takes, and orders and bill that follow from the sheets.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from solver.check import check
from solver.checking.fault import Fault
from solver.checking.week_carried import check_carried
from solver.checking.week_jobs import check_jobs
from solver.checking.week_orders import check_orders
from solver.checking.week_sums import check_sums
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week

__all__ = ["check_week"]


def check_week(week: Week, open_from: date, plan: WeekPlan) -> tuple[Fault, ...]:
    """Return everything wrong with ``plan``, whose sheets may change from ``open_from`` on; empty means it is right."""
    return tuple(_faults(week, open_from, plan))


def _faults(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    yield from check_jobs(week, open_from, plan)
    yield from _sheets(open_from, plan)
    yield from check_carried(week, open_from, plan)
    yield from check_orders(week, open_from, plan)
    yield from check_sums(week, open_from, plan)


def _sheets(open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check every sheet that may still change as a plan of its own; what it lacks is a question of the whole week."""
    for day in plan.days:
        if day.date >= open_from:
            for fault in check(day.job, day.plan):
                if fault.code != "not_cut" or not fault.place.startswith("#/required"):
                    place = f"#/days/{day.date.isoformat()}{fault.place.removeprefix('#')}"
                    yield Fault(fault.code, place, fault.detail)
