"""Cutting again, by hand: the runs stay as they are laid, only what their pieces are cut from changes."""

from __future__ import annotations

from dataclasses import replace

from solver.cutting.problem import Piece
from solver.laps.again import cut_again
from solver.laps.prices import PriceList, by_length
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.site import Layout, Site, site_of
from solver.laps.yard import Filling, Yard, held_first, held_last
from solver.materials import LapEnds
from solver.required import Meets
from solver.watch import Watch

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(10, 10, None, left=True, right=True, lap=0, end_gap=0)


def problem(*lengths: int, sticks: tuple[LapStick, ...] = (TEN,), pieces: tuple[Piece, ...] = ()) -> LapProblem:
    """Return runs of these lengths without walls."""
    runs = tuple(LapRun(n, length, Meets.PLAIN, Meets.PLAIN) for n, length in enumerate(lengths))
    return LapProblem(sticks, pieces, runs, LapRules(LapEnds.FACTORY))


def in_parts(site: Site, run: int, parts: int) -> Layout:
    """Return the layout of a run in so many pieces."""
    return next(layout for layout in site.layouts[run] if layout.shape.parts == parts)


def wastefully(site: Site, *placed: tuple[Layout, int]) -> Yard:
    """Return the yard with runs laid so, and every piece cut from a stick of its own, the first kind."""
    yard = Yard(site)
    for layout, a in placed:
        yard.place(layout, a)
        yard.add(Filling(0, right=held_first(layout, a)))
        yard.add(Filling(0, left=held_last(layout, a)))
    for place, wanted in enumerate(list(yard.left)):
        for _ in range(wanted):
            yard.add(Filling(0, plain=(place,)))
    return yard


def again(yard: Yard, watch: Watch = PATIENT) -> Yard:
    """Return the yard cut again, held to what stays the same."""
    anew = cut_again(yard, PriceList(yard.site, by_length(yard.site)), watch)
    assert anew.placed == yard.placed
    assert anew.uncut == 0
    return anew


def test_pieces_that_go_together_share_a_stick() -> None:
    """10 + 5 and 5 + 10 out of a stick for each piece: four. The two of 5 are one's right end and one's left."""
    site = site_of(problem(15, 15))
    yard = wastefully(site, (in_parts(site, 0, 2), 10), (in_parts(site, 1, 2), 5))
    assert (yard.cost, again(yard).cost) == (40, 30)


def test_pieces_of_runs_that_need_the_same_end_share_none() -> None:
    """10 + 5 twice: both pieces of 5 are left ends, and a stick has one."""
    site = site_of(problem(15, 15))
    layouts = in_parts(site, 0, 2), in_parts(site, 1, 2)
    assert again(wastefully(site, (layouts[0], 10), (layouts[1], 10))).cost == 40


def test_plain_pieces_fill_what_is_left() -> None:
    """Two pieces of 5 go beside the left ends of 5: four sticks where there were six."""
    site = site_of(problem(15, 15, pieces=(Piece(5, 2),)))
    yard = wastefully(site, (in_parts(site, 0, 2), 10), (in_parts(site, 1, 2), 10))
    assert (yard.cost, again(yard).cost) == (60, 40)


def test_uncut_sticks_are_taken_off_what_there_is() -> None:
    """Of two cheap tens one is the middle of 25 already, so the pieces beside it take one more and a dear one."""
    cheap = replace(TEN, cost=4, limit=2)
    site = site_of(problem(25, sticks=(TEN, cheap)))
    layout = next(y for y in site.layouts[0] if y.shape.wholes == (1,))
    anew = again(wastefully(site, (layout, 10)))
    assert (anew.used[0], anew.used[1], anew.cost) == (1, 2, 18)


def test_a_limited_offcut_is_used_as_often_as_there_is_one() -> None:
    """Both runs end on 5 and there is one offcut of 5 for nothing."""
    offcut = replace(TEN, length=5, cost=0, limit=1)
    site = site_of(problem(15, 15, sticks=(TEN, offcut)))
    anew = again(wastefully(site, (in_parts(site, 0, 2), 10), (in_parts(site, 1, 2), 10)))
    assert (anew.used[0], anew.used[1], anew.cost) == (3, 1, 30)


def test_a_run_in_three_pieces_is_cut_from_sticks_that_two_would_not_do_of() -> None:
    """One twenty for 11 would give both ends of 25, but then 25 is no run of three pieces; a plain piece may have it.

    So the ends of 10 and 5 take a ten each, beside the ten in the middle, and 20 takes the twenty: 41.
    """
    twenty = replace(TEN, length=20, cost=11)
    site = site_of(problem(25, sticks=(TEN, twenty), pieces=(Piece(20, 1),)))
    layout = next(y for y in site.layouts[0] if y.shape.wholes == (0,) and y.shape.first == {0})
    yard = Yard(site)
    yard.place(layout, 10)
    yard.add(Filling(0, right=held_first(layout, 10)))
    yard.add(Filling(0, left=held_last(layout, 10)))
    yard.add(Filling(1, plain=(0,)))
    anew = again(yard)
    assert all(stick.kind in held.kinds for stick in anew.sticks for held in (stick.left, stick.right) if held)
    assert anew.cost == 41


def test_nobody_is_told_of_the_part_that_is_cut() -> None:
    """The engine's costs leave out uncut sticks and its bounds hold for these laps alone: neither is the plan's."""
    told: list[tuple[int, int]] = []
    site = site_of(problem(25, 25))
    yard = wastefully(site, (in_parts(site, 0, 3), 10), (in_parts(site, 1, 3), 5))
    again(yard, PATIENT.telling(lambda cost, bound: told.append((cost, bound))))
    assert told == []
