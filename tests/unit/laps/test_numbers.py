"""Which numbers of sticks are ruled out, by hand: a run of 15 out of tens, and out of tens and sixes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps.assign import columns_of
from solver.laps.bounds.bound import ColumnGeneration
from solver.laps.bounds.columns import classes_of
from solver.laps.bounds.dual_values import DualValues, NumberRow
from solver.laps.bounds.master import Master, Unsolved
from solver.laps.bounds.numbers import StickNumbers, length_row
from solver.laps.bounds.pricing import PriceList, Pricer, by_length
from solver.laps.improve import lay_anew
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.lp.glop import LinearProgram
from solver.required import Meets
from solver.watch import Watch

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
SIX = replace(TEN, length=6, cost=5)


def model(*sticks: LapStick, piece: int = 7) -> LapModel:
    """Return a run of 15, in one piece more than need be at the most, and a plain piece."""
    runs = (LapRun(item=0, length=15, left=Meets.PLAIN, right=Meets.PLAIN),)
    return model_of(
        LapProblem(
            sticks=sticks, pieces=(Piece(piece, 1),), runs=runs, rules=LapRules(ends=LapEnds.FACTORY, extra_laps=1)
        )
    )


def numbers(of: LapModel, *rows: NumberRow) -> StickNumbers:
    """Return the numbers that cost less than 40 under rows."""
    found = StickNumbers(of, 40, PATIENT)
    for row in rows:
        found.add(row, None)
    return found


def test_length_alone_rules_out_two_tens() -> None:
    """15 and 7 are 22."""
    found = numbers(model(TEN))
    assert (found.cheapest, found.least) == ((3,), 30)


def test_of_tens_and_sixes_the_cheapest_that_are_long_enough() -> None:
    """Two tens and a six are 26 for 25; four sixes are 24 for 20."""
    found = numbers(model(TEN, SIX))
    assert (found.cheapest, found.least) == ((0, 4), 20)


def test_a_row_rules_out_what_length_does_not() -> None:
    """Worth 1 each, and two at least: (0, 4) stays. Where only tens are worth 1, one ten and three sixes come next."""
    assert numbers(model(TEN, SIX), NumberRow((1, 1), 2, 1)).cheapest == (0, 4)
    found = numbers(model(TEN, SIX), NumberRow((1, 0), 1, 1))
    assert (found.cheapest, found.least) == ((1, 2), 20)


def test_numbers_settled_by_a_search_are_passed_over() -> None:
    """After four sixes come a ten and two sixes, which cost as much."""
    found = numbers(model(TEN, SIX))
    found.settle((0, 4))
    assert (found.cheapest, found.least, found.searched) == ((1, 2), 20, True)


def test_where_none_is_left_the_bound_is_what_was_asked_about() -> None:
    """Nothing below 40 is worth 9."""
    found = numbers(model(TEN), NumberRow((1,), 9, 1))
    assert (found.cheapest, found.least) == (None, 40)


def test_when_dearer_plans_come_to_count_dearer_numbers_do_too() -> None:
    """Three tens are 30, once numbers below 40 are looked at."""
    found = StickNumbers(model(TEN), 20, PATIENT)
    assert (found.cheapest, found.least) == (None, 20)
    found.look_below(40)
    assert (found.cheapest, found.least) == ((3,), 30)


@pytest.mark.parametrize(("limit", "bound"), [(None, 10), (1, 6)])
def test_what_a_row_says_of_the_cost(limit: int | None, bound: int) -> None:
    """Worth 12 at a cost of 10 where 12 are needed: one stick. Where there is but one it may be worth 2 for nothing."""
    row = NumberRow((12, 5), 12 if limit is None else 8, 1)
    assert row.bound((replace(TEN, limit=limit), SIX)) == bound


def test_a_stick_is_worth_its_best_cut_or_what_it_costs() -> None:
    """Slots are worth their length, the piece of 7 is worth 9: a ten is 9 and 3. A whole ten in a run counts as that.

    All is worth 24 at the least, the run in pieces of 15 together, so two tens do not do.
    """
    tens = model(TEN)
    slot = np.arange(11, dtype=np.int64)
    values = DualValues(((slot,), (slot,)), np.array([9]), np.array([10]), 1)
    row = Pricer(tens, classes_of(tens, (0,))).value(values, 1, 1).row
    assert row == NumberRow((12,), 24, 1)
    assert row.lacking((2,)) == 0
    assert length_row(tens).lacking((2,)) > 0


def test_a_program_that_fails_is_solved_once_more_written_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """The second try is of another program, for the first keeps what it failed from."""
    tried: list[LinearProgram] = []

    def failed(program: LinearProgram) -> bool:
        tried.append(program)
        return False

    monkeypatch.setattr(LinearProgram, "solved", failed)
    of = model(TEN)
    with pytest.raises(Unsolved):
        Master(of, classes_of(of, [0, 0]), 1).solve()
    assert len(tried) == 2
    assert tried[0] is not tried[1]


@pytest.mark.parametrize(("step", "least"), [(0, 40), (10, 50)])
def test_rounds_are_not_counted_where_no_cheaper_plan_is_to_be_hoped_for(step: int, least: int) -> None:
    """Three pieces of 6, and 10 + 5: five tens, where length asks for four. One round does not show it yet."""
    runs = (LapRun(item=0, length=15, left=Meets.PLAIN, right=Meets.PLAIN),)
    rules = LapRules(ends=LapEnds.FACTORY)
    of = model_of(LapProblem(sticks=(TEN,), pieces=(Piece(6, 3),), runs=runs, rules=rules))
    plan = lay_anew(of, PriceList(of, by_length(of)), 0, 0.0)
    found = StickNumbers(of, 60, PATIENT)
    ColumnGeneration(of, classes_of(of, [0]), found, columns_of(plan)).run(1, 50, 0.0, PATIENT, step)
    assert (plan.cost, found.least) == (50, least)


@pytest.mark.parametrize(("near", "done"), [(0.0, True), (1.0, False)])
def test_rounds_end_once_whole_sticks_leave_nothing_more_to_prove(near: float, done: bool) -> None:
    """Each of six pieces of 6 leaves 4 of its ten, no piece of 15 or of 17 is so short, and those take four tens more.

    The program will never show an eleventh, and a plan of nineteen is not known to be too dear by more.
    """
    runs = tuple(LapRun(item=n, length=n, left=Meets.PLAIN, right=Meets.PLAIN) for n in (15, 17))
    rules = LapRules(ends=LapEnds.FACTORY)
    of = model_of(LapProblem(sticks=(TEN,), pieces=(Piece(6, 6),), runs=runs, rules=rules))
    plan = lay_anew(of, PriceList(of, by_length(of)), 0, 0.0)
    found = StickNumbers(of, 200, PATIENT)
    generation = ColumnGeneration(of, classes_of(of, [0, 0]), found, columns_of(plan))
    generation.run(100, 190, near, PATIENT, 10)
    assert (found.least, generation.done) == (100, done)
