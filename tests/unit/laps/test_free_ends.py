"""The bound where ends don't matter, by hand: one run out of tens, and out of sticks too long for an exact grid.

And what runs that hang together rule out: 15 and 12 beside two pieces of 6, which are 39, out of four sticks of 10.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.allowances import Allowances
from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import plan_laps, solve
from solver.laps.bounds import free_bound
from solver.laps.bounds.dual_values import DualValues
from solver.laps.bounds.free_bound import Rows, free_ends_row
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.programs import exact
from solver.laps.programs.free_program import ComponentProgram
from solver.laps.state import PartialPlan
from solver.laps.templates import FreeSum, free_sums
from solver.laps.violations import Unavoidable
from solver.required import Meets
from solver.watch import Watch

TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
LONG = replace(TEN, length=10_001, cost=10**6)
PATIENT = Watch(lambda: 0.0, 60.0)


def two_runs(*, extra_laps: int, spacing: int = 0) -> LapProblem:
    """Return runs of 15 and 12, one above the other, and two pieces of 6."""
    runs = tuple(
        LapRun(item=n, length=length, left=Meets.PLAIN, right=Meets.PLAIN, wall="w", course=n + 1)
        for n, length in enumerate((15, 12))
    )
    rules = LapRules(ends=LapEnds.ANY, extra_laps=extra_laps, spacing=spacing)
    return LapProblem(sticks=(TEN,), pieces=(Piece(6, 2),), runs=runs, rules=rules)


def model(length: int, extra_laps: int, stick: LapStick = TEN) -> LapModel:
    """Return the model of one run."""
    runs = (LapRun(item=0, length=length, left=Meets.PLAIN, right=Meets.PLAIN),)
    return model_of(
        LapProblem(sticks=(stick,), pieces=(), runs=runs, rules=LapRules(ends=LapEnds.ANY, extra_laps=extra_laps))
    )


def bound(of: LapModel, *worth: int) -> Fraction:
    """Return the bound when slots of 0, 1, ... cells are worth so much; the last figure holds for all longer ones."""
    first, last = (
        (np.array([*worth, *[worth[-1]] * (of.problem.sticks[0].length // of.cell + 1 - len(worth))], np.int64),)
        * len(side)
        for side in of.sides
    )
    values = DualValues((first, last), np.zeros(0, np.int64), np.zeros(1, np.int64), 1)
    return free_ends_row(of, values).bound(of.problem.sticks)


def test_two_pieces_take_a_cell_each_where_a_stick_is_one() -> None:
    """20 out of tens is two whole tens, in cells of 10."""
    assert model(20, 0).cell == 10
    assert bound(model(20, 0), 0, 10) == 20


@pytest.mark.parametrize("extra_laps", [0, 1, 2])
def test_pieces_on_an_exact_grid_add_up_exactly(extra_laps: int) -> None:
    """15 out of tens in cells of 5, worth 5 a cell: three cells, in however many pieces. Some of them may be none."""
    assert model(15, extra_laps).cell == 5
    assert bound(model(15, extra_laps), 0, 5, 10) == 15


def test_pieces_between_cells_are_rounded_down() -> None:
    """10,001 is 3,333 cells of 3. 15,001 is 5,000 and 1 over, yet two pieces of 2 over each are 4,999 cells."""
    assert model(15_001, 0, LONG).cell == 3
    assert bound(model(15_001, 0, LONG), *range(3334)) == 4_999


@pytest.mark.parametrize(("length", "least"), [(15_001, 10), (10_003, 5)])
def test_a_piece_shorter_than_a_cell_is_worth_nothing(length: int, least: int) -> None:
    """Beside a whole stick 5,000 are left, which is worth 5 as any slot is, or 2, which is rounded down to no cell."""
    assert bound(model(length, 0, LONG), 0, 5) == least


def test_a_middle_piece_may_be_cut_as_short_as_the_others() -> None:
    """150 out of hundreds, lap 1: with two extra laps four pieces are 153 together, and none of them a whole stick."""
    hundred, asked = replace(TEN, length=100, cost=100, lap=1), Allowances(1, 0)
    assert model(150, 2, hundred).sums[0] == tuple(FreeSum(n, 149 + n, 100, asked) for n in (2, 3, 4))


def test_a_run_is_one_piece_where_a_stick_of_smaller_lap_allows() -> None:
    """98, lapped on the left outside: 99 out of a hundred that laps by 1. By 3 it is 101: two pieces, one extra lap."""
    sticks = tuple(replace(TEN, length=100, cost=100, lap=lap) for lap in (1, 3))
    run = LapRun(item=0, length=98, left=Meets.LAP, right=Meets.PLAIN)
    for extra, ways in ((0, [(1, 1)]), (1, [(1, 1), (2, 1), (2, 3)])):
        rules = LapRules(ends=LapEnds.ANY, extra_laps=extra)
        found = free_sums(LapProblem(sticks=sticks, pieces=(), runs=(run,), rules=rules), run)
        assert found.sums == tuple(FreeSum(parts, 98 + parts * lap, 100, Allowances(lap, 0)) for parts, lap in ways)


def test_runs_of_very_many_pieces_are_not_proven() -> None:
    """Eleven wide with a lap of 10 gains 1 a piece: 200 are 190 pieces, more than are looked at."""
    eleven = replace(TEN, length=11, lap=10)
    assert not model(200, 0, eleven).complete
    assert model(100, 0, eleven).complete


ROWS = st.lists(st.integers(0, 9), min_size=1, max_size=5).map(lambda worth: [0, *sorted(worth)])


@given(ROWS, st.integers(1, 5), st.integers(0, 1), st.data())
def test_the_least_row_is_that_of_all_rows(worth: list[int], parts: int, shortest: int, data: st.DataObject) -> None:
    """Whatever slots are worth; and where several cells count as one it is no more than that."""
    cells = data.draw(st.integers(shortest * parts, parts * (len(worth) - 1)))
    rows = product(range(shortest, len(worth)), repeat=parts)
    least = min(sum(worth[n] for n in row) for row in rows if sum(row) == cells)
    slot = np.array(worth, np.int64)
    assert Rows(slot).least(parts, shortest, cells) == least
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(free_bound, "MOST_LISTED", 2)
        assert Rows(slot).least(parts, shortest, cells) <= least


@pytest.mark.parametrize(
    ("extra_laps", "shortest", "laps", "may_do"),
    [
        pytest.param(0, 0, None, False, id="two pieces each"),
        pytest.param(1, 0, None, True, id="three pieces each"),
        pytest.param(1, 0, 2, False, id="two laps"),
        pytest.param(1, 3, 3, True, id="three laps, 4 + 4 + 7 and 9 + 3"),
        pytest.param(1, 5, None, False, id="no piece under 5"),
    ],
)
def test_runs_that_share_sticks_have_a_piece_for_each(
    extra_laps: int, shortest: int, laps: int | None, *, may_do: bool
) -> None:
    """Beside the 6s two sticks have 4 left and two are whole, which is 28 for 27.

    In two pieces each, both runs share three sticks at the most, and 10 + 10 + 4 is too little; if they share none, 15
    takes both whole sticks and 12 has 4 + 4. Where one has three pieces, they share all four. No piece of 5 comes out
    of 4.
    """
    program = ComponentProgram(model_of(two_runs(extra_laps=extra_laps)), (4,), shortest, laps)
    assert program.solve(1.0, PATIENT) is may_do


@pytest.mark.parametrize(("extra_laps", "sticks"), [(0, 5), (1, 4)])
def test_a_plan_is_proven_by_what_hangs_together(extra_laps: int, sticks: int) -> None:
    """Length alone says four sticks."""
    plan = plan_laps(two_runs(extra_laps=extra_laps), PATIENT)
    assert (len(plan.sticks), plan.proven) == (sticks, True)


def test_what_hangs_together_rules_out_numbers_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """No program that tells sticks apart is asked whether four do."""
    monkeypatch.setattr(exact, "ShareProgram", None)
    monkeypatch.setattr(exact, "FreeProgram", None)
    assert exact.fill(model_of(two_runs(extra_laps=0)), (4,), 0, PATIENT) is False


def test_where_rules_may_have_to_be_broken_numbers_are_ruled_out_for_as_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """No two laps lie 20 apart, which nothing has shown here: what keeps all rules is not all there is."""
    asked: list[int] = []

    def listening(_model: LapModel, _numbers: object, broken: int, _watch: Watch) -> PartialPlan | bool:
        asked.append(broken)
        return False

    monkeypatch.setattr(solve, "unavoidable", lambda *_: Unavoidable((), ()))
    monkeypatch.setattr(solve, "fill", listening)
    monkeypatch.setattr(solve, "ROUNDS", 1)
    monkeypatch.setattr(solve.LapSolver, "polish", lambda *_: None)
    plan = plan_laps(two_runs(extra_laps=0, spacing=20), PATIENT)
    assert (set(asked), len(plan.breaches), plan.proven) == ({1}, 1, False)
