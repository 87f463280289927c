"""Sticks too long for an exact grid: lengths are rounded down to cells, so that no bound goes beyond a plan there is.

Out of sticks of 10,001 ticks, which are 3,333 cells of 3, with nothing that divides all lengths but 1.
"""

from __future__ import annotations

import pytest

from solver.categories import LapEnds
from solver.laps.assign import columns_of
from solver.laps.bounds.bound import ColumnGeneration
from solver.laps.bounds.columns import classes_of
from solver.laps.bounds.numbers import StickNumbers
from solver.laps.bounds.pricing import PriceList, by_length
from solver.laps.improve import lay_anew
from solver.laps.model import model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets
from solver.watch import Watch

STICK = LapStick(length=10_001, cost=10_001, limit=None, left=True, right=True, lap=0, end_gap=0)


def fifteen_thousands(count: int, ends: LapEnds = LapEnds.FACTORY) -> LapProblem:
    """Return runs of 15,001, each two pieces at the least."""
    runs = tuple(LapRun(item=n, length=15_001, left=Meets.PLAIN, right=Meets.PLAIN) for n in range(count))
    return LapProblem(sticks=(STICK,), pieces=(), runs=runs, rules=LapRules(ends=ends))


def test_beside_the_longest_first_piece_of_a_cell_the_last_one_takes_fewest() -> None:
    """A first piece of n cells is 3n + 2 at the longest, and 14,999 - 3n are 4,999 cells less n; 15,001 are 5,000."""
    model = model_of(fifteen_thousands(1))
    (family,) = classes_of(model, (0,)).families[0]
    assert (model.divisor, model.cell) == (1, 3)
    assert family.firsts[0] == 5_000 // 3
    assert (family.firsts + family.lasts)[:-1].tolist() == [4_999] * (len(family.firsts) - 1)


@pytest.mark.parametrize("ends", list(LapEnds))
def test_no_bound_goes_beyond_three_sticks_for_two_runs(ends: LapEnds) -> None:
    """10,001 + 5,000 and 5,001 + 10,000: the second stick gives 5,000 and 5,001, so three do."""
    problem = fifteen_thousands(2, ends)
    model = model_of(problem)
    plan = lay_anew(model, PriceList(model, by_length(model)), 0, 0.0)
    patient = Watch(lambda: 0.0, 60.0)
    numbers = StickNumbers(model, 10 * STICK.cost, patient)
    bounding = ColumnGeneration(model, classes_of(model, (0,)), numbers, columns_of(plan))
    bounding.run(120, 10 * STICK.cost, 0.0, patient)
    assert numbers.least == 3 * STICK.cost
