"""More room in the van, or one more night, on generated weeks: what was found with less is not lost."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.weekly.moment import Moment
from solver.weekly.plan import WeekPlan
from solver.weekly.planning import plan_week
from solver.weekly.week import Week, WeekLimits
from tests.benchmarks import weeks
from tests.support.short_weeks import short_week
from tests.support.weeks import BEFORE, MONDAY


def planned(asked: Week, moment: Moment = BEFORE) -> WeekPlan:
    """Return the plan of a week by counted work alone, however busy the machine is."""
    return plan_week(asked, moment, clock=lambda: 0.0)


@pytest.mark.parametrize(
    "asked", [short_week(3), short_week(12), weeks.crew_week(0, MONDAY, 4, 6)], ids=["short", "more", "mixed"]
)
def test_a_larger_van_never_costs_more(asked: Week) -> None:
    """From none carried to as many as wanted, the bill only falls."""
    vans = [*range(13), None]
    bills = [planned(replace(asked, limits=WeekLimits(carry=carry))).cost for carry in vans]
    assert bills == sorted(bills, reverse=True)
    assert bills[-1] < bills[0]


@pytest.mark.parametrize("seed", range(3))
def test_a_second_night_finds_nothing_cheaper(seed: int) -> None:
    """The announced plan of a week that did not change stands: the same bill, and no stick of it is cut otherwise."""
    asked = weeks.crew_week(seed, MONDAY, 4, 12)
    first = planned(asked)
    second = planned(asked, replace(BEFORE, announced=first))
    assert (second.cost, second.changes) == (first.cost, 0)
