"""What holds for parts of the way to a plan of runs, whatever they are given."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.categories import LapEnds
from solver.cutting.problem import Search
from solver.laps.answer import answer
from solver.laps.bounds.columns import classes_of
from solver.laps.bounds.dual_values import DualValues
from solver.laps.bounds.pricing import PriceList, Pricer, by_length
from solver.laps.improve import lay_anew, recut
from solver.laps.model import model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets
from solver.watch import Watch
from tests.property.test_laps import problems
from tests.support.lap_plans import complaints

PATIENT = Watch(lambda: 0.0, 60.0)
RUNS = tuple(LapRun(item=n, length=15, left=Meets.PLAIN, right=Meets.PLAIN) for n in range(2))
FIFTEENS = model_of(
    LapProblem(
        sticks=(LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0),),
        pieces=(),
        runs=RUNS,
        rules=LapRules(ends=LapEnds.FACTORY),
    )
)
VALUER = Pricer(FIFTEENS, classes_of(FIFTEENS, (0,)))


@st.composite
def values(draw: st.DrawFn) -> DualValues:
    """Draw values of slots that rise with length, in thousandths of the cost."""
    rising = st.lists(st.integers(0, 20_000), min_size=FIFTEENS.width, max_size=FIFTEENS.width).map(sorted)
    first, last = (np.array([0, *draw(rising)], np.int64) for _ in range(2))
    return DualValues(((first,), (last,)), np.zeros(0, np.int64), np.array([10_000]), 1000)


@given(values(), values(), st.integers(0, 10))
def test_values_on_the_way_to_others_still_rise_and_bound(one: DualValues, other: DualValues, tenths: int) -> None:
    """They lie between both, and prove no more than the three sticks that two runs of 15 take."""
    moved = one.towards(other, tenths)
    for side, mine, theirs in zip(moved.slots, one.slots, other.slots, strict=True):
        assert (np.diff(side[0]) >= 0).all()
        assert (np.minimum(mine[0], theirs[0]) <= side[0]).all()
        assert (side[0] <= np.maximum(mine[0], theirs[0])).all()
    assert VALUER.value(moved, 1, 1).row.bound(FIFTEENS.problem.sticks) <= 30


@settings(max_examples=60, deadline=None)
@given(problems(), st.integers(0, 3))
def test_plans_cut_again_are_sound_and_lap_where_they_did(problem: LapProblem, seed: int) -> None:
    """The same runs, nothing uncut, every piece from a stick that it may come from."""
    model = model_of(problem)
    prices = PriceList(model, by_length(model))
    plan = lay_anew(model, prices, seed, 0.05 * seed)
    anew = recut(plan, prices, PATIENT)
    assert anew.placed == plan.placed
    assert anew.uncut == plan.uncut == 0
    assert all(stick.kind in held.kinds for stick in anew.sticks for held in (stick.left, stick.right) if held)
    assert complaints(problem, answer(anew, 0, 0, Search(""), stopped=False)) == []
