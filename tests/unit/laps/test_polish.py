"""How laps look, by hand: runs of 15 out of tens, one above the other, whose laps lie from 5 to 10."""

from __future__ import annotations

from itertools import combinations

import pytest

from solver.categories import LapEnds
from solver.laps import WORST, plan_laps
from solver.laps.problem import LapPlan, LapProblem, LapRules, LapRun, LapStick, Standing
from solver.required import Meets
from solver.watch import Watch

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)


def wall(*lengths: int) -> LapProblem:
    """Return courses of these lengths, in which no two laps are to be at one place and laps within 2 look in line."""
    runs = tuple(
        LapRun(item=n, length=length, left=Meets.PLAIN, right=Meets.PLAIN, wall="n", course=n + 1)
        for n, length in enumerate(lengths)
    )
    rules = LapRules(ends=LapEnds.FACTORY, spacing=1, repeat=3, in_line_within=1, extra_laps=0, near=2, longest_step=4)
    return LapProblem(sticks=(TEN,), pieces=(), runs=runs, rules=rules)


def near_lines(plan: LapPlan) -> int:
    """Return how many pairs of laps look in line, of four courses or fewer."""
    laps = [lap for cover in plan.covers for lap in cover.laps_at]
    return sum(abs(one - other) < 2 for one, other in combinations(laps, 2))


@pytest.mark.parametrize(
    ("beside", "looked_after"),
    [
        pytest.param(None, True, id="a plan"),
        pytest.param((0, 50), True, id="a draft that is as good"),
        pytest.param((0, 49), False, id="a draft that is dearer"),
        pytest.param(WORST, False, id="a draft by itself"),
    ],
)
def test_what_is_to_be_cut_is_looked_after(beside: Standing | None, *, looked_after: bool) -> None:
    """Three courses take five tens and lap at 5, at 10 and between; of a mere draft 10 and 9 may be as they come."""
    plan = plan_laps(wall(15, 15, 15), PATIENT, beside=beside)
    assert (plan.cost, len(plan.breaches)) == (50, 0)
    assert (near_lines(plan) == 0) is looked_after
