"""Weeks that want more than there is: planned as far as it goes, with what is missing said. By hand from ``weeks``."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal

from solver.materials import PriceBreak
from solver.required import Required
from solver.weekly.plan import WeekPlan
from solver.weekly.week import DatedJob, Week
from tests.scenario import PANEL, inches
from tests.support.weeks import MONDAY, THURSDAY, TUESDAY, planned, week


def of(row: object, *jobs: DatedJob) -> Week:
    """The week with another stock length, and with other jobs if any are given."""
    asked = replace(week(), materials=(replace(PANEL, stock=(row,)),))  # type: ignore[arg-type]
    return replace(asked, jobs=jobs) if jobs else asked


def missing(plan: WeekPlan) -> Counter[str]:
    """Count the pieces without a stick by job."""
    counts: Counter[str] = Counter()
    for entry in plan.missing:
        counts[entry.job] += entry.quantity
    return counts


def job(name: str, day: object, length: int, count: int) -> DatedJob:
    """One item of panels."""
    return DatedJob(name, day, (Required("A", "panel-sand", inches(length), count),))  # type: ignore[arg-type]


def test_a_run_that_would_be_made_in_part_is_made_whole_or_not_at_all() -> None:
    """Four panels; each of three runs takes two, one of them cut: two runs are made, and one is missing whole."""
    row = replace(PANEL.stock[0], available=4)
    runs = (job("north", MONDAY, 220, 1), job("east", TUESDAY, 230, 1), job("shed", THURSDAY, 240, 1))
    plan = planned(of(row, *runs, job("trim", THURSDAY, 140, 1)))
    made = [run for day in plan.days for part in day.plan.materials for run in part.runs]
    assert len(made) + sum(count for name, count in missing(plan).items() if name != "trim") == len(runs)


def test_no_carton_is_opened_where_cartons_are_sold_whole() -> None:
    """Three are there, and cartons hold five: nothing can be bought, and all six pieces are missing."""
    plan = planned(of(replace(PANEL.stock[0], available=3, carton=5, singles=False)))
    assert (missing(plan), plan.orders) == ({"north-wall": 3, "boat-shed": 3}, ())


def test_a_spare_is_not_ordered_where_every_stick_is_cut() -> None:
    """Three panels at 9.00 from two on, and all three are needed: the spare asked for is not there."""
    row = replace(PANEL.stock[0], available=3, breaks=(PriceBreak(2, Decimal("9.00")),))
    asked = of(row)
    spared = replace(asked.materials[0], settings=replace(PANEL.settings, spare_sticks=1))
    plan = planned(replace(asked, materials=(spared,)))
    assert [(line.sticks, line.spares) for order in plan.orders for line in order.lines] == [(3, 0)]
    assert plan.bill == Decimal("27.00")
    assert plan.notes == ("panel-sand: 1 spares are asked for, but 0 of the length used most are available",)
