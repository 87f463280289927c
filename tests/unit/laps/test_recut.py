"""Cutting again, by hand: the runs stay as they are laid, only what their pieces are cut from changes."""

from __future__ import annotations

from dataclasses import replace

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps.bounds.pricing import PriceList, by_length
from solver.laps.improve import recut
from solver.laps.model import LapModel, RunCandidate, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.state import OpenStick, PartialPlan, held_first, held_last
from solver.required import Meets
from solver.watch import Watch

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)


def problem(*lengths: int, sticks: tuple[LapStick, ...] = (TEN,), pieces: tuple[Piece, ...] = ()) -> LapProblem:
    """Return runs of these lengths without walls."""
    runs = tuple(LapRun(item=n, length=length, left=Meets.PLAIN, right=Meets.PLAIN) for n, length in enumerate(lengths))
    return LapProblem(sticks=sticks, pieces=pieces, runs=runs, rules=LapRules(ends=LapEnds.FACTORY))


def in_parts(model: LapModel, run: int, parts: int) -> RunCandidate:
    """Return the candidate of a run in so many pieces."""
    return next(candidate for candidate in model.candidates[run] if candidate.template.parts == parts)


def wastefully(model: LapModel, *placed: tuple[RunCandidate, int]) -> PartialPlan:
    """Return the plan with runs laid so, and every piece cut from a stick of its own, the first kind."""
    partial = PartialPlan(model)
    for candidate, a in placed:
        partial.place(candidate, a)
        partial.add(OpenStick(0, right=held_first(candidate, a)))
        partial.add(OpenStick(0, left=held_last(candidate, a)))
    for place, wanted in enumerate(list(partial.left)):
        for _ in range(wanted):
            partial.add(OpenStick(0, plain=(place,)))
    return partial


def again(partial: PartialPlan, watch: Watch = PATIENT) -> PartialPlan:
    """Return the plan cut again, held to what stays the same."""
    anew = recut(partial, PriceList(partial.model, by_length(partial.model)), watch)
    assert anew.placed == partial.placed
    assert anew.uncut == 0
    return anew


def test_pieces_that_go_together_share_a_stick() -> None:
    """10 + 5 and 5 + 10 out of a stick for each piece: four. The two of 5 are one's right end and one's left."""
    model = model_of(problem(15, 15))
    partial = wastefully(model, (in_parts(model, 0, 2), 10), (in_parts(model, 1, 2), 5))
    assert (partial.cost, again(partial).cost) == (40, 30)


def test_pieces_of_runs_that_need_the_same_end_share_none() -> None:
    """10 + 5 twice: both pieces of 5 are left ends, and a stick has one."""
    model = model_of(problem(15, 15))
    candidates = in_parts(model, 0, 2), in_parts(model, 1, 2)
    assert again(wastefully(model, (candidates[0], 10), (candidates[1], 10))).cost == 40


def test_plain_pieces_fill_what_is_left() -> None:
    """Two pieces of 5 go beside the left ends of 5: four sticks where there were six."""
    model = model_of(problem(15, 15, pieces=(Piece(5, 2),)))
    partial = wastefully(model, (in_parts(model, 0, 2), 10), (in_parts(model, 1, 2), 10))
    assert (partial.cost, again(partial).cost) == (60, 40)


def test_uncut_sticks_are_taken_off_what_there_is() -> None:
    """Of two cheap tens one is the middle of 25 already, so the pieces beside it take one more and a dear one."""
    cheap = replace(TEN, cost=4, limit=2)
    model = model_of(problem(25, sticks=(TEN, cheap)))
    candidate = next(y for y in model.candidates[0] if y.template.wholes == (1,))
    anew = again(wastefully(model, (candidate, 10)))
    assert (anew.used[0], anew.used[1], anew.cost) == (1, 2, 18)


def test_a_limited_offcut_is_used_as_often_as_there_is_one() -> None:
    """Both runs end on 5 and there is one offcut of 5 for nothing."""
    offcut = replace(TEN, length=5, cost=0, limit=1)
    model = model_of(problem(15, 15, sticks=(TEN, offcut)))
    anew = again(wastefully(model, (in_parts(model, 0, 2), 10), (in_parts(model, 1, 2), 10)))
    assert (anew.used[0], anew.used[1], anew.cost) == (3, 1, 30)


def test_a_run_is_cut_from_no_stick_that_asks_for_another_lap() -> None:
    """One twenty for 11 would give both ends of 25, but it asks for a lap of 1; a plain piece may have it.

    So the ends of 10 and 5 take a ten each, beside the ten in the middle, and 20 takes the twenty: 41.
    """
    asked = problem(25, sticks=(TEN, replace(TEN, length=20, cost=11, lap=1)), pieces=(Piece(20, 1),))
    model = model_of(replace(asked, rules=LapRules(ends=LapEnds.FACTORY, extra_laps=1)))
    candidate = next(y for y in model.candidates[0] if y.template.wholes == (0,) and y.template.first == {0})
    partial = PartialPlan(model)
    partial.place(candidate, 10)
    partial.add(OpenStick(0, right=held_first(candidate, 10)))
    partial.add(OpenStick(0, left=held_last(candidate, 10)))
    partial.add(OpenStick(1, plain=(0,)))
    anew = again(partial)
    assert all(stick.kind in held.kinds for stick in anew.sticks for held in (stick.left, stick.right) if held)
    assert anew.cost == 41


def test_nobody_is_told_of_the_part_that_is_cut() -> None:
    """The engine's costs leave out uncut sticks and its bounds hold for these laps alone: neither is the plan's."""
    told: list[tuple[int, int]] = []
    model = model_of(problem(25, 25))
    partial = wastefully(model, (in_parts(model, 0, 3), 10), (in_parts(model, 1, 3), 5))
    again(partial, PATIENT.telling(lambda cost, bound: told.append((cost, bound))))
    assert told == []
