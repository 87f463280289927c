"""Weeks that want more than there is: planned as far as it goes, with what is missing said. By hand from ``weeks``."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest

from solver.job import Wall
from solver.materials import PriceBreak, StockLength
from solver.required import KeepClear, Required
from solver.weekly.moment import Moment
from solver.weekly.plan import WeekPlan
from solver.weekly.week import DatedJob, Delivery, Sticks, Week, WeekLimits
from tests.scenario import PANEL, inches
from tests.support.weeks import MONDAY, THURSDAY, TUESDAY, planned, week


def of(row: StockLength, *jobs: DatedJob, spares: int = 0) -> Week:
    """The week with another stock length, and with other jobs if any are given."""
    panel = replace(PANEL, stock=(row,), settings=replace(PANEL.settings, spare_sticks=spares))
    asked = replace(week(), materials=(panel,))
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


def test_what_to_buy_for_a_run_keeps_off_the_openings_of_its_wall() -> None:
    """Two panels reach over 299 in with their lap of 1 in from 149 on, where a window is: a third is wanted.

    Of two pieces of another job, on a wall of the same name, one is missing too.
    """
    wall, clear = Wall("north"), (KeepClear(inches(140), inches(160), 1, 1),)
    run = Required("N", "panel-sand", inches(299), wall="north", first_course=1, keep_clear=clear)
    pieces = Required("B", "panel-sand", inches(149), 2, wall="north")
    jobs = (DatedJob("m", MONDAY, (run,), walls=(wall,)), DatedJob("t", MONDAY, (pieces,), walls=(wall,)))
    short = replace(PANEL, stock=(replace(PANEL.stock[0], available=1),))
    for some, sticks in ((jobs[:1], 3), (jobs, 4)):
        plan = planned(replace(week(), materials=(short,), jobs=some))
        assert [line.sticks for line in plan.to_buy] == [sticks]


def test_no_carton_is_opened_where_cartons_are_sold_whole() -> None:
    """Three are there, and cartons hold five: nothing can be bought, and all six pieces are missing."""
    plan = planned(of(replace(PANEL.stock[0], available=3, carton=5, singles=False)))
    assert (missing(plan), plan.orders) == ({"north-wall": 3, "boat-shed": 3}, ())


def test_a_spare_is_not_ordered_where_every_stick_is_cut() -> None:
    """Three panels at 9.00 from two on, and all three are needed: the spare asked for is not there."""
    row = replace(PANEL.stock[0], available=3, breaks=(PriceBreak(2, Decimal("9.00")),))
    plan = planned(of(row, spares=1))
    assert [(line.sticks, line.spares) for order in plan.orders for line in order.lines] == [(3, 0)]
    assert plan.bill == Decimal("27.00")
    assert plan.notes == ("panel-sand: 1 spares are asked for, but 0 of the length used most are available",)


@pytest.mark.parametrize("available", [0, 2])
@pytest.mark.parametrize("carton", [None, 2])
def test_what_came_is_cut_though_the_yard_has_no_more(available: int, carton: int | None) -> None:
    """Three panels came; the yard's list now says fewer: they do for the week, and nothing more can be ordered."""
    row = replace(PANEL.stock[0], available=available, carton=carton, singles=carton is None)
    came = (Delivery(MONDAY, (Sticks("panel-sand", row.id, 3),)), Delivery(TUESDAY))
    plan = planned(replace(of(row), deliveries=came))
    assert (plan.missing, [order.closed for order in plan.orders]) == ((), [True])


def test_spares_that_came_are_cut_where_the_list_grew() -> None:
    """Three panels of three are ordered and a spare beside them, as is said; on Tuesday the shed wants three more."""
    asked = of(replace(PANEL.stock[0], available=3), spares=1)
    announced = planned(asked)
    assert announced.notes == ("panel-sand 12-6: the order comes to 4, but 3 are available",)
    grown = replace(asked.jobs[1], required=(Required("B", "panel-sand", inches(50), 6),))
    plan = planned(replace(asked, jobs=(asked.jobs[0], grown)), Moment(MONDAY, TUESDAY, announced))
    assert (plan.missing, plan.days[-1].plan.materials[0].new_sticks) == ((), 1)


def test_spares_of_one_delivery_are_not_of_the_sticks_of_another() -> None:
    """Four panels in all, three for Monday and one for Thursday, nothing carried: both spares are beyond what is."""
    asked = of(replace(PANEL.stock[0], available=4), spares=1)
    both = replace(asked, deliveries=(Delivery(MONDAY), Delivery(THURSDAY)), limits=WeekLimits(carry=0))
    assert planned(both).notes == (
        "panel-sand 12-6: the order comes to 4, but 3 are available",
        "panel-sand 12-6: the order comes to 2, but 0 are available",
    )
