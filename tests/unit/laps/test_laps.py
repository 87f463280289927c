"""Runs of one size on numbers small enough to check by hand; lengths are ticks and stand for inches."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import plan_laps
from solver.laps.problem import Breach, LapPlan, LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets, Side
from solver.runs import BreachCode
from solver.watch import Watch
from tests.support.lap_plans import complaints

TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)


def plain(item: int, length: int, course: int | None = None) -> LapRun:
    """Return a run with nothing added or taken at its ends, on the north wall if it has a course."""
    return LapRun(
        item=item, length=length, left=Meets.PLAIN, right=Meets.PLAIN, wall="north" if course else None, course=course
    )


TWO_FIFTEENS = LapProblem(
    sticks=(TEN,), pieces=(), runs=(plain(0, 15), plain(1, 15)), rules=LapRules(ends=LapEnds.FACTORY)
)


def planned(problem: LapProblem) -> LapPlan:
    """Return the plan, held against the problem piece by piece."""
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    return plan


@pytest.mark.parametrize("ends", list(LapEnds))
def test_two_runs_of_fifteen_take_three_sticks_of_ten(ends: LapEnds) -> None:
    """10 + 5 and 5 + 10: one stick is shared, and 30 can't come out of two. Slots rounded up would make it four."""
    plan = planned(replace(TWO_FIFTEENS, rules=LapRules(ends=ends)))
    assert (len(plan.sticks), plan.cost, plan.bound) == (3, 30, 30)


def test_a_shared_stick_gives_one_run_its_last_piece_and_another_its_first() -> None:
    """With factory ends the stick that both runs share holds a last piece on the left and a first on the right."""
    plan = planned(TWO_FIFTEENS)
    shared = next(stick for stick in plan.sticks if len(stick.pieces) == 2)
    needs = sorted((plan.kinds[p.kind].left, plan.kinds[p.kind].right) for p in shared.pieces)
    assert needs == [(False, True), (True, False)]


def test_the_middle_of_three_pieces_is_an_uncut_stick() -> None:
    """25 out of tens: a piece lapped at both ends carries both factory ends."""
    plan = planned(replace(TWO_FIFTEENS, runs=(plain(0, 25),)))
    kinds = [plan.kinds[k] for k in plan.covers[0].kinds]
    assert [(kind.left, kind.right) for kind in kinds] == [(False, True), (True, True), (True, False)]
    assert kinds[1].length == 10


def test_laps_and_gaps_are_in_the_pieces() -> None:
    """18 between two channels: 18 - 2 x 1 + 2 (one lap) = 18 out of tens, the lap at 1 + first piece - 2."""
    stick = replace(TEN, lap=2, end_gap=1)
    plan = planned(replace(TWO_FIFTEENS, sticks=(stick,), runs=(LapRun(item=0, length=18, start=100),)))
    first, last = (plan.kinds[k].length for k in plan.covers[0].kinds)
    assert first + last == 18
    assert plan.covers[0].laps_at == (100 + 1 + first - 2,)


def test_a_gap_between_butted_pieces_saves_length() -> None:
    """A negative lap is a gap: 20 plain over two gaps of 1 is 18 of material, in three pieces of 10 at the most."""
    rules = LapRules(ends=LapEnds.ANY)
    plan = planned(LapProblem(sticks=(replace(TEN, lap=-1),), pieces=(), runs=(plain(0, 20),), rules=rules))
    assert sum(plan.kinds[k].length for k in plan.covers[0].kinds) == 20 - (len(plan.covers[0].kinds) - 1)


def test_plain_pieces_fill_what_runs_leave() -> None:
    """Two runs of 18 leave 2 and 2 of four sticks, which two pieces of 2 fill: no fifth stick."""
    runs = (plain(0, 18), plain(1, 18))
    plan = planned(replace(TWO_FIFTEENS, runs=runs, pieces=(Piece(2, 2),)))
    assert (plan.cost, plan.bound) == (40, 40)


def test_an_offcut_without_factory_ends_serves_no_lap() -> None:
    """An offcut of 5 would save the third stick, but only where field ends may be lapped."""
    offcut = LapStick(length=5, cost=0, limit=1, left=False, right=False, lap=0, end_gap=0)
    either = replace(TWO_FIFTEENS, sticks=(TEN, offcut), runs=(plain(0, 15),))
    assert planned(either).cost == 20
    assert planned(replace(either, rules=LapRules(ends=LapEnds.RENOTCHED))).cost == 10


def test_an_offcut_with_the_right_end_begins_a_run() -> None:
    """An offcut of 5 that kept its right factory end is a first piece; with the left end it would be a last one."""
    offcut = LapStick(length=5, cost=0, limit=1, left=False, right=True, lap=0, end_gap=0)
    plan = planned(replace(TWO_FIFTEENS, sticks=(TEN, offcut), runs=(plain(0, 15),)))
    assert plan.cost == 10
    assert [plan.kinds[k].length for k in plan.covers[0].kinds] == [5, 10]


@pytest.mark.parametrize("ends", list(LapEnds))
@pytest.mark.parametrize(
    ("left", "right"), [(Meets.LAP, Meets.PLAIN), (Meets.PLAIN, Meets.LAP), (Meets.LAP, Meets.LAP)]
)
def test_a_stick_that_laps_less_covers_a_run_alone(ends: LapEnds, left: Meets, right: Meets) -> None:
    """8 is 10 or less where it is lapped by 1, and more than a stick of ten where by 3: one stick, not two."""
    one, three = replace(TEN, lap=1), replace(TEN, lap=3)
    run = LapRun(item=0, length=8, left=left, right=right)
    plan = planned(replace(TWO_FIFTEENS, sticks=(three, one), runs=(run,), rules=LapRules(ends=ends)))
    assert (plan.cost, plan.bound, len(plan.covers[0].kinds), plan.breaches) == (10, 10, 1, ())


@pytest.mark.parametrize("ends", list(LapEnds))
def test_an_offcut_longer_than_any_stick_to_be_bought_covers_a_run_alone(ends: LapEnds) -> None:
    """16 on hand give the 15 in one piece, and 15 more take two tens."""
    offcut = LapStick(length=16, cost=0, limit=1, left=False, right=False, lap=0, end_gap=0)
    plan = planned(replace(TWO_FIFTEENS, sticks=(TEN, offcut), rules=LapRules(ends=ends)))
    assert (plan.cost, sorted(len(cover.kinds) for cover in plan.covers)) == (20, [1, 2])


def test_a_stick_takes_kerf_between_its_pieces_only() -> None:
    """5 + 5 out of ten needs the saw's 1 between them, so two runs of 15 take four sticks, not three."""
    assert planned(replace(TWO_FIFTEENS, kerf=1)).cost == 40


def test_a_lapped_outer_end_leaves_one_free_piece() -> None:
    """Lapped on the left outside, the first piece is a whole stick and the last is what is left: 15 = 10 + 5."""
    plan = planned(replace(TWO_FIFTEENS, runs=(LapRun(item=0, length=15, left=Meets.LAP, right=Meets.PLAIN),)))
    assert [plan.kinds[k].length for k in plan.covers[0].kinds] == [10, 5]
    assert plan.breaches == ()


def test_two_lapped_outer_ends_that_do_not_add_up_cost_a_field_end() -> None:
    """15 is no sum of tens: one end is cut on site and lapped all the same, and the plan says so."""
    plan = planned(replace(TWO_FIFTEENS, runs=(LapRun(item=0, length=15, left=Meets.LAP, right=Meets.LAP),)))
    assert [breach.code for breach in plan.breaches] == [BreachCode.FIELD_END_LAPPED]
    exact = planned(replace(TWO_FIFTEENS, runs=(LapRun(item=0, length=20, left=Meets.LAP, right=Meets.LAP),)))
    assert exact.breaches == ()


WALL = tuple(plain(0, 15, course) for course in (1, 2, 3))


def test_laps_of_adjacent_courses_are_staggered() -> None:
    """A single lap lies anywhere from 5 to 10; three courses keep 4 apart by turning from one end to the other."""
    plan = planned(replace(TWO_FIFTEENS, runs=WALL, rules=LapRules(ends=LapEnds.FACTORY, spacing=4)))
    laps = [cover.laps_at[0] for cover in plan.covers]
    assert plan.breaches == ()
    assert all(abs(one - other) >= 4 for one, other in pairwise(laps))


def test_spacing_beyond_reach_is_broken_as_seldom_as_can_be_and_said() -> None:
    """6 apart is not to be had between 5 and 10: both pairs of courses break it, and both are declared."""
    plan = planned(replace(TWO_FIFTEENS, runs=WALL, rules=LapRules(ends=LapEnds.FACTORY, spacing=6)))
    assert [(b.code, b.run, b.needed) for b in plan.breaches] == [
        (BreachCode.LAP_SPACING, 1, 6),
        (BreachCode.LAP_SPACING, 2, 6),
    ]


def test_laps_in_line_need_courses_between() -> None:
    """Three courses, none in line within 2, next to each other or one apart: 5 to 10 has room for 5, 7, 9."""
    rules = LapRules(ends=LapEnds.FACTORY, repeat=2, in_line_within=2)
    plan = planned(replace(TWO_FIFTEENS, runs=WALL, rules=rules))
    laps = sorted(cover.laps_at[0] for cover in plan.covers)
    assert plan.breaches == ()
    assert laps[1] - laps[0] >= 2
    assert laps[2] - laps[1] >= 2


def test_a_lap_keeps_clear_of_an_opening_though_it_costs_nothing_to_lap_there() -> None:
    """The lap may lie from 5 to 10 and 5 to 9 is an opening: it touches the edge at 9 or lies beyond."""
    run = replace(WALL[0], keep_clear=((4, 9),))
    plan = planned(replace(TWO_FIFTEENS, runs=(run,)))
    assert plan.covers[0].laps_at[0] >= 9
    assert plan.breaches == ()


def test_an_opening_wider_than_a_stick_is_lapped_over_once_and_said() -> None:
    """An opening from 4 to 11 leaves no place for the lap of 15 out of tens: it is made, and declared.

    At 7 it is nearer to 4 than to 11, or as near; at 8 and beyond it would have to be at 11.
    """
    run = replace(WALL[0], keep_clear=((4, 11),))
    plan = planned(replace(TWO_FIFTEENS, runs=(run,)))
    place = plan.covers[0].laps_at[0]
    clear = 4 if place <= 7 else 11
    code = BreachCode.LAP_OVER_OPENING
    assert plan.breaches == (Breach(code=code, run=0, place=place, needed=clear, got=place),)
    assert plan.proven


def test_a_short_piece_is_used_only_where_no_plan_avoids_it() -> None:
    """11 out of tens with nothing under 6: one piece is short, never both; 12 can be 6 and 6."""
    rules = LapRules(ends=LapEnds.FACTORY, shortest=6)
    eleven = planned(replace(TWO_FIFTEENS, runs=(plain(0, 11),), rules=rules))
    assert [breach.code for breach in eleven.breaches] == [BreachCode.SHORT_PIECE]
    assert planned(replace(TWO_FIFTEENS, runs=(plain(0, 12),), rules=rules)).breaches == ()


def test_fewest_broken_rules_come_before_cost() -> None:
    """Two runs of 12 share sticks as 10 + 2 twice over three; with nothing under 5 they take four halves instead."""
    runs = (plain(0, 12), plain(1, 12))
    assert planned(replace(TWO_FIFTEENS, runs=runs)).cost == 30
    strict = planned(replace(TWO_FIFTEENS, runs=runs, rules=LapRules(ends=LapEnds.FACTORY, shortest=6)))
    assert (strict.breaches, strict.cost) == ((), 40)


def test_longer_sticks_ask_for_their_own_lap() -> None:
    """A run with one stick that asks for a lap of 2 is lapped by 2 throughout."""
    wide = LapStick(length=14, cost=12, limit=None, left=True, right=True, lap=2, end_gap=0)
    plan = planned(replace(TWO_FIFTEENS, sticks=(TEN, wide), runs=(plain(0, 22),)))
    assert plan.covers[0].lap == 2
    assert sum(plan.kinds[k].length for k in plan.covers[0].kinds) == 24


@pytest.mark.parametrize(("extra_laps", "cost", "parts"), [(0, 60, 2), (1, 30, 3)])
def test_pieces_are_counted_by_the_longest_stick_whatever_is_taken(extra_laps: int, cost: int, parts: int) -> None:
    """25 is 20 + 5, a dear twenty and a ten, or with a lap more three tens: 60 and 30."""
    dear = LapStick(length=20, cost=50, limit=None, left=True, right=True, lap=0, end_gap=0)
    rules = LapRules(ends=LapEnds.FACTORY, extra_laps=extra_laps)
    plan = planned(replace(TWO_FIFTEENS, sticks=(TEN, dear), rules=rules, runs=(plain(0, 25),)))
    assert (plan.cost, len(plan.covers[0].kinds)) == (cost, parts)


def test_a_limit_on_pieces_forbids_no_plan_of_fewer() -> None:
    """Of 68 and 129, lap 2, two runs of 218 and 212 and a piece of 19: three pieces each are 46.20, four 47.60.

    With an extra lap both are allowed. It doesn't matter that the three are partly of long sticks, of which two would
    do, and the four of short ones alone.
    """
    sticks = tuple(
        LapStick(length=2 * n, cost=10 * n, limit=None, left=True, right=True, lap=4, end_gap=0) for n in (68, 129)
    )
    runs = tuple(replace(plain(n, 2 * length), wall="w", course=n + 1) for n, length in enumerate((218, 212)))
    rules = LapRules(ends=LapEnds.RENOTCHED, spacing=24, repeat=2, in_line_within=4, extra_laps=1)
    plan = planned(LapProblem(sticks=sticks, pieces=(Piece(38, 1),), runs=runs, rules=rules, kerf=1))
    assert plan.cost == 4620


@pytest.mark.parametrize("ends", list(LapEnds))
def test_a_limited_stick_is_not_used_twice(ends: LapEnds) -> None:
    """One stick of 10 is all there is: a run of 15 stays uncovered, and no plan could do better."""
    sticks, rules = (replace(TEN, limit=1),), LapRules(ends=ends)
    plan = planned(replace(TWO_FIFTEENS, sticks=sticks, rules=rules, runs=(plain(0, 15),)))
    assert (plan.uncut_runs, plan.sticks, plan.cost, plan.proven) == ((0,), (), 0, True)


@pytest.mark.parametrize("ends", list(LapEnds))
def test_what_is_impossible_stands_in_no_way_of_the_bound(ends: LapEnds) -> None:
    """Two tens cover no 25, and no ten gives a 4 lapped at both ends: the 15 is cut for 20, and that is proven."""
    sticks, pieces = (replace(TEN, limit=2),), (Piece(3, 1), Piece(4, 2, left=True, right=True))
    runs = (plain(0, 25, 1), plain(1, 15, 2))
    plan = planned(replace(TWO_FIFTEENS, sticks=sticks, pieces=pieces, rules=LapRules(ends=ends), runs=runs))
    assert (plan.uncut, plan.uncut_runs, [cover.run for cover in plan.covers]) == ((0, 2), (0,), [1])
    assert (plan.cost, plan.bound, plan.proven) == (20, 20, True)


@pytest.mark.parametrize("ends", list(LapEnds))
@pytest.mark.parametrize(("wanted", "cut"), [(2, 2), (3, 2)])
def test_pieces_are_cut_where_no_run_can_be(ends: LapEnds, wanted: int, cut: int) -> None:
    """Two tens cover no 25, and give a 6 each: a third is uncut, and then nothing is claimed."""
    sticks, pieces = (replace(TEN, limit=2),), (Piece(6, wanted),)
    runs, rules = (plain(0, 25),), LapRules(ends=ends)
    plan = planned(replace(TWO_FIFTEENS, sticks=sticks, pieces=pieces, runs=runs, rules=rules))
    assert (plan.uncut, plan.uncut_runs, plan.cost) == ((wanted - cut,), (0,), 20)
    assert plan.proven == (wanted == cut)


def test_no_piece_is_forgotten_where_no_run_can_be_cut() -> None:
    """Two tens cover no 25, and give but two of three 6s lapped at their left: the third is uncut, and said to be."""
    pieces, runs = (Piece(6, 3, left=True),), (plain(0, 25),)
    plan = planned(replace(TWO_FIFTEENS, sticks=(replace(TEN, limit=2),), pieces=pieces, runs=runs))
    assert (plan.uncut, plan.uncut_runs, plan.cost) == ((1,), (0,), 20)


def test_where_sticks_run_out_nothing_is_claimed() -> None:
    """Two tens cover one 15 or the other, and nobody has shown that no plan covers both."""
    plan = planned(replace(TWO_FIFTEENS, sticks=(replace(TEN, limit=2),)))
    assert (len(plan.uncut_runs), plan.bound, plan.least_uncut) == (1, 0, False)


@pytest.mark.parametrize("ends", list(LapEnds))
def test_sticks_that_all_cost_nothing(ends: LapEnds) -> None:
    """Nine tens and one fourteen left over: one wall laps clear of its opening, the other can't; nothing is paid."""
    left_over = replace(TEN, cost=0, limit=9), replace(TEN, length=14, cost=0, limit=1)
    runs = tuple(replace(plain(n, 15, 1), wall=wall, keep_clear=((4, 11),)) for n, wall in enumerate("ab"))
    plan = planned(LapProblem(sticks=left_over, pieces=(), runs=runs, rules=LapRules(ends=ends)))
    assert (len(plan.breaches), plan.cost, plan.uncut_runs) == (1, 0, ())


def test_where_one_wall_has_the_only_stick_that_keeps_a_rule_the_other_breaks_it() -> None:
    """The one fourteen laps 15 beyond an opening at 11, and two tens make up the rest: 14 + 20 for 11 + 20."""
    fourteen = replace(TEN, length=14, cost=11, limit=1)
    runs = tuple(replace(plain(n, 15, 1), wall=wall, keep_clear=((4, 11),)) for n, wall in enumerate("ab"))
    plan = planned(replace(TWO_FIFTEENS, sticks=(TEN, fourteen), runs=runs))
    assert [breach.code for breach in plan.breaches] == [BreachCode.LAP_OVER_OPENING]
    assert (plan.cost, plan.proven) == (31, False)


@pytest.mark.parametrize(
    ("viewed_from", "on_top"),
    [(None, Side.RIGHT), (Side.LEFT, Side.LEFT), (Side.RIGHT, Side.RIGHT), (0, Side.LEFT), (15, Side.RIGHT)],
)
def test_laps_face_away_from_the_eye(viewed_from: Side | int | None, on_top: Side) -> None:
    """The panel nearer to the eye lies on top, so that its end looks away from it."""
    plan = planned(replace(TWO_FIFTEENS, runs=(replace(WALL[0], viewed_from=viewed_from),)))
    assert plan.covers[0].on_top == (on_top,)


def test_the_same_problem_gets_the_same_plan() -> None:
    """Lots are drawn from fixed seeds."""
    runs = tuple(plain(n, 13 + n, n + 1) for n in range(5))
    problem = replace(TWO_FIFTEENS, runs=runs, pieces=(Piece(3, 4),), rules=LapRules(ends=LapEnds.FACTORY, spacing=2))
    assert planned(problem) == planned(problem)


def test_a_watch_that_has_stopped_still_gets_a_plan() -> None:
    """The first plan is laid whatever the time, so that nobody waits for nothing."""
    plan = plan_laps(TWO_FIFTEENS, Watch(lambda: 1.0, 0.0))
    assert complaints(TWO_FIFTEENS, plan) == []
    assert plan.stopped
