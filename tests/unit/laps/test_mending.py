"""Laps mended and polished within a plan's sticks, by hand: runs of 15 out of tens, one above the other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece, Search
from solver.laps.answer import answer
from solver.laps.bounds.pricing import PriceList, by_length
from solver.laps.improve import lay_anew
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.rearranging import rearrangement, trading
from solver.laps.rearranging.mending import Mending
from solver.laps.rearranging.polish import polished
from solver.laps.state import OpenStick, PartialPlan, held_first, held_last
from solver.required import Meets
from solver.watch import Watch
from tests.support.lap_plans import complaints

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)


def courses(spacing: int, *lengths: int, pieces: tuple[Piece, ...] = (), near: int = 0) -> LapModel:
    """Return one wall of runs of these lengths, where laps ``near`` each other within four courses look in line."""
    runs = tuple(
        LapRun(item=n, length=length, left=Meets.PLAIN, right=Meets.PLAIN, wall="n", course=n + 1)
        for n, length in enumerate(lengths)
    )
    rules = LapRules(ends=LapEnds.FACTORY, spacing=spacing, repeat=3, near=near)
    return model_of(LapProblem(sticks=(TEN,), pieces=pieces, runs=runs, rules=rules))


def lapped(model: LapModel, *firsts: int, beside: tuple[tuple[int, ...], ...] = ()) -> PartialPlan:
    """Return the plan with runs lapped there, each piece out of a stick of its own with plain pieces ``beside``."""
    partial = PartialPlan(model)
    plain = iter(beside)
    for run, a in enumerate(firsts):
        candidate = next(c for c in model.candidates[run] if c.template.parts == 2)
        partial.place(candidate, a)
        partial.add(OpenStick(0, right=held_first(candidate, a), plain=next(plain, ())))
        partial.add(OpenStick(0, left=held_last(candidate, a), plain=next(plain, ())))
    return partial


def mended(partial: PartialPlan) -> PartialPlan:
    """Return the plan mended, which never costs more and leaves nothing uncut."""
    found = Mending(partial, 0).run(PATIENT)
    assert (found.uncut, found.cost <= partial.cost) == (0, True)
    return found


def test_laps_move_apart_where_their_sticks_have_room() -> None:
    """Both courses are lapped at 7 and are to be 4 apart: 5 and 9 do, and 6 and 10."""
    partial = lapped(courses(4, 15, 15), 7, 7)
    found = mended(partial)
    assert (partial.broken, found.broken, found.cost) == (1, 0, 40)


def test_pieces_change_sticks_to_make_the_room() -> None:
    """7 + 3 and 8 + 2, twice, fill every stick: 7 + 3 and 8 + 2 beside 8 + 2 and 7 + 3 keep the laps 1 apart."""
    model = courses(1, 15, 15, pieces=(Piece(3, 2), Piece(2, 2)))
    partial = lapped(model, 7, 7, beside=((0,), (1,), (0,), (1,)))
    found = mended(partial)
    assert (partial.broken, found.broken, found.cost) == (1, 0, 40)
    assert [stick.room for stick in found.sticks] == [0, 0, 0, 0]


def test_what_no_lengths_can_keep_stays_as_it_is() -> None:
    """Laps of 15 lie from 5 to 10, never 6 apart."""
    partial = lapped(courses(6, 15, 15), 7, 7)
    assert mended(partial).broken == 1


def polish(partial: PartialPlan) -> PartialPlan:
    """Return the plan with its looks bettered."""
    return polished(partial, PATIENT)


def near_lines(partial: PartialPlan, near: int) -> int:
    """Return how many pairs of laps in four successive courses look in line."""
    laps = [lap for found in partial.laps for lap in found or ()]
    return lined_up(laps, near)


def lined_up(laps: Sequence[int], near: int) -> int:
    """Return the same of one lap a course."""
    return sum(abs(one - other) < near for n, one in enumerate(laps) for other in laps[n + 1 : n + 4])


@pytest.mark.parametrize("courses_high", [2, 3, 4, 5])
@pytest.mark.parametrize("near", [2, 3])
def test_laps_of_courses_look_in_line_as_seldom_as_may_be(courses_high: int, near: int) -> None:
    """Each piece has a stick of its own, so each course laps anywhere from 5 to 10: all ways are gone through."""
    partial = lapped(courses(1, *[15] * courses_high, near=near), *[5, 6, 7, 8, 9][:courses_high])
    every_way = product(range(5, 11), repeat=courses_high)
    fewest = min(lined_up(way, near) for way in every_way if all(a != b for a, b in pairwise(way)))
    assert near_lines(polish(partial), near) == fewest


def test_pieces_change_sticks_so_that_laps_are_not_in_line() -> None:
    """Both laps at 7 look in line and break no rule; every stick is full: 7 + 3 and 8 + 2, as above."""
    model = courses(0, 15, 15, pieces=(Piece(3, 2), Piece(2, 2)), near=1)
    partial = lapped(model, 7, 7, beside=((0,), (1,), (0,), (1,)))
    found = polish(partial)
    assert (near_lines(partial, 1), near_lines(found, 1), found.cost) == (1, 0, 40)
    assert [stick.room for stick in found.sticks] == [0, 0, 0, 0]


@pytest.mark.parametrize("rearranged", [mended, polish])
@pytest.mark.parametrize("ends", [LapEnds.FACTORY, LapEnds.ANY])
@pytest.mark.parametrize("seed", range(6))
def test_a_rearranged_plan_is_sound_and_breaks_no_more(
    ends: LapEnds, seed: int, rearranged: Callable[[PartialPlan], PartialPlan], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eight courses of lots out of two lengths, with pieces that need an end and pieces that don't.

    In every third that is taken for many, of which only some are looked at and remembered.
    """
    if seed % 3 == 0:
        monkeypatch.setattr(trading, "MOST_LOOKED_AT", 3)
        monkeypatch.setattr(rearrangement, "SOON_REMEMBERED", 3)
    dice = np.random.default_rng(seed)
    sticks = tuple(replace(TEN, length=n, cost=n, lap=1) for n in (12, 17))
    pieces = (Piece(3, 4), Piece(5, 3), *((Piece(4, 2, left=True), Piece(6, 1, right=True)) if seed % 2 else ()))
    runs = tuple(
        LapRun(item=n, length=int(dice.integers(18, 40)), left=Meets.PLAIN, right=Meets.PLAIN, wall="n", course=n + 1)
        for n in range(8)
    )
    rules = LapRules(ends=ends, shortest=2, spacing=4, repeat=2, in_line_within=2, near=3, longest_step=6)
    problem = LapProblem(sticks=sticks, pieces=pieces, runs=runs, rules=rules, kerf=seed % 2)
    model = model_of(problem)
    partial = lay_anew(model, PriceList(model, by_length(model)), seed, 0.5)
    found = rearranged(partial)
    assert complaints(problem, answer(found, 0, 0, Search(""), stopped=False)) == []
    assert (found.uncut, found.broken <= partial.broken, found.cost <= partial.cost) == (0, True, True)
    assert found.lap_count == partial.lap_count
