"""Runs laid to the lowest bill, by hand: runs of 16 out of tens, lapped anywhere, with a lap more than need be."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.buying.terms import Sold, Terms, Tier
from solver.categories import LapEnds
from solver.laps import plan_laps
from solver.laps.problem import LapPlan, LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets
from solver.watch import Watch
from tests.support.lap_plans import complaints

TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
SINGLES = Sold((Tier(0, 10, 10),), 1, 0, None, together=False)
SIXES = Sold((Tier(0, None, 60),), 6, 0, None, together=False)


def planned(*sold: Sold, sticks: tuple[LapStick, ...] = (TEN,), runs: int = 3) -> LapPlan:
    """Return the plan of so many runs of 16, held against its problem."""
    run = LapRun(item=0, length=16, left=Meets.PLAIN, right=Meets.PLAIN)
    problem = LapProblem(
        sticks=sticks,
        pieces=(),
        runs=tuple(replace(run, item=n) for n in range(runs)),
        rules=LapRules(ends=LapEnds.ANY, extra_laps=1),
        terms=Terms(sold),
    )
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    return plan


@pytest.mark.parametrize(("sold", "sticks", "laps", "bill"), [(SINGLES, 5, 4, 50), (SIXES, 6, 3, 60)])
def test_the_spare_stick_of_a_carton_saves_a_lap(sold: Sold, sticks: int, laps: int, bill: int) -> None:
    """Five tens are 50 for 48, with one six made of 4 and 2. Six are in a carton: each run is then a ten and a six."""
    plan = planned(sold)
    assert (len(plan.sticks), plan.lap_count, plan.cost, plan.bound) == (sticks, laps, bill, bill)


def test_of_two_lengths_the_bill_decides_and_not_the_price_of_a_stick() -> None:
    """Tens come to 5 each, but in a dozen: 60. Two nines are 18 for 16, and 22 with what is paid once for any."""
    dozen = Sold((Tier(0, None, 60),), 12, 0, None, together=False)
    nines = Sold((Tier(0, 9, 9),), 1, 4, None, together=False)
    sticks = (replace(TEN, cost=5), replace(TEN, length=9, cost=9))
    plan = planned(dozen, nines, sticks=sticks, runs=1)
    assert ([stick.stick for stick in plan.sticks], plan.cost, plan.bound) == ([1, 1], 22, 22)


def test_one_more_is_bought_to_reach_a_break() -> None:
    """A run takes two; from three on they are 6 in place of 10: 18, not 20, and the third is a spare."""
    plan = planned(Sold((Tier(0, 10, 10), Tier(3, 6, 6)), 1, 0, None, together=False), runs=1)
    assert (plan.cost, plan.bound) == (18, 18)
