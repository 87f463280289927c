"""Runs longer than a stick, planned with the pieces: small walls that a reader can work out by hand."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from solver import plan_job
from solver.categories import DEFAULTS, Category, LapEnds
from solver.errors import Unplannable
from solver.job import Job, Wall
from solver.lengths import say
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import CutPlan, MaterialPlan
from solver.required import End, KeepClear, Meets, Required, Side
from tests.scenario import PANEL, PANEL_12_6, N, inches, north_wall, shed

BUTT = replace(DEFAULTS[Category.OTHER], lap=0)


def planned(job: Job) -> CutPlan:
    """Plan a job; the checker has gone over it."""
    return plan_job(job, time.monotonic)


def wall(run: Required, material: Material = PANEL, viewed_from: Side | int | None = Side.LEFT) -> Job:
    """Return the north wall with one item."""
    return replace(shed(), materials=(material,), required=(run,), walls=(Wall("north", viewed_from),))


def only(plan: CutPlan) -> MaterialPlan:
    """Return the plan's one material."""
    (material,) = plan.materials
    return material


def lapped(**changes: object) -> Material:
    """Return the panel with settings changed."""
    return replace(PANEL, settings=replace(PANEL.settings, **changes))  # type: ignore[arg-type]


def test_sticks_cut_alike_are_one_pattern_whatever_their_pieces_need() -> None:
    """Six courses: whole panels that begin a course keep one end for its lap, those in its middle keep both."""
    part = only(planned(wall(replace(N, courses=6), lapped(lap_spacing=0, lap_repeat=0, in_line_within=0))))
    looks = [replace(use, sticks=()) for use in part.patterns]
    assert len(set(looks)) == len(looks)
    firsts = {run.pieces[0].stick for run in part.runs}
    middles = {run.pieces[1].stick for run in part.runs}
    whole = {stick.stick for stick in part.patterns[0].sticks}
    assert firsts & whole
    assert middles <= whole


def test_two_runs_of_15_without_lap_come_out_of_three_sticks_of_10() -> None:
    """10 + 5 and 5 + 10: the halves share a stick, and no rounding of the bound asks for a fourth."""
    strip = Material("strip", Category.OTHER, (StockLength("10", inches(10)),), BUTT)
    run = Required("R", "strip", inches(15), 2)
    plan = only(planned(replace(shed(), materials=(strip,), required=(run,))))
    assert (plan.new_sticks, plan.proven) == (3, True)


def test_the_north_wall_is_seven_panels() -> None:
    """3 x 329 1/2 in are 988 1/2 and six panels are 900, so seven at 9.80 are proven best."""
    plan = planned(north_wall())
    assert (only(plan).new_sticks, only(plan).proven, plan.order_total) == (7, True, Decimal("68.60"))
    assert plan.warnings == ()


def test_each_course_is_covered_with_its_laps() -> None:
    """327 1/2 in between the gaps and two laps of 1 in make every course 329 1/2 in of three pieces."""
    for run in only(planned(north_wall())).runs:
        assert sum(piece.length for piece in run.pieces) == inches("329.5")
        assert len(run.laps_at) == 2


def test_middle_pieces_are_whole_panels() -> None:
    """Between two laps both ends are factory ends, so the piece there is an uncut panel."""
    assert {run.pieces[1].length for run in only(planned(north_wall())).runs} == {inches(150)}


def test_laps_of_adjacent_courses_keep_their_distance() -> None:
    """Every two laps of courses one above the other are 24 in apart, and none are in line three courses up."""
    runs = only(planned(wall(replace(N, courses=6, keep_clear=(), cut_outs=())))).runs
    places = {run.course: run.laps_at for run in runs}
    for course in range(1, 6):
        assert all(abs(a - b) >= inches(24) for a in places[course] for b in places[course + 1])
    for course in range(1, 4):
        assert all(abs(a - b) >= inches(2) for a in places[course] for b in places[course + 3])


@pytest.mark.parametrize(("viewed_from", "on_top"), [(Side.LEFT, Side.LEFT), (Side.RIGHT, Side.RIGHT)])
def test_laps_face_away_from_the_viewer(viewed_from: Side, on_top: Side) -> None:
    """Panels are laid toward the viewer, the later one on top, so the nearer panel covers the farther."""
    runs = only(planned(wall(replace(N, keep_clear=(), cut_outs=()), viewed_from=viewed_from))).runs
    assert {side for run in runs for side in run.on_top} == {on_top}


def test_from_a_door_in_the_middle_laps_on_both_sides_face_away() -> None:
    """Left of the door the right panel is on top, right of it the left one."""
    door = inches(164)
    for run in only(planned(wall(replace(N, keep_clear=(), cut_outs=()), viewed_from=door))).runs:
        assert run.on_top == tuple(Side.RIGHT if place < door else Side.LEFT for place in run.laps_at)


def test_an_opening_no_panel_can_span_is_lapped_over_and_declared() -> None:
    """Sixteen feet kept clear can't be spanned by 12'-6" panels: the plan is given, and each lap there is named."""
    opening = KeepClear(inches(60), inches(252), 1, 1)
    job = wall(replace(N, courses=1, keep_clear=(opening,), cut_outs=()))
    plan = planned(job)
    assert {notice.code for notice in plan.warnings} == {"lap_over_opening"}
    assert plan.not_cut == ()
    for notice in plan.warnings:
        assert notice.place is not None
        nearest = min(inches(59), inches(252), key=lambda edge: abs(edge - (notice.place or 0)))
        assert (notice.needed, notice.got) == (nearest, notice.place)
        assert f"{say(nearest, job.units)} is the nearest place" in notice.detail


def test_starter_strip_is_butted_with_a_gap() -> None:
    """A lap of -1/4 in: three strips of 120 and 119 3/4 cover 240 in between plain ends, less their gaps."""
    strip = Material("starter", Category.STARTER, (StockLength("10", inches(120)),), DEFAULTS[Category.STARTER])
    plan = only(planned(wall(Required("S", "starter", inches(300)), strip)))
    (run,) = plan.runs
    gaps = len(run.pieces) - 1
    assert sum(piece.length for piece in run.pieces) == inches(300) - gaps * inches("0.25")
    assert (plan.new_sticks, plan.proven) == (3, True)


def test_a_post_longer_than_its_stick_is_lapped() -> None:
    """170 in from 150 in posts are two pieces that add up to 170 3/4 in, and one post would be too short."""
    post = Material("post", Category.POST, (StockLength("12-6", inches(150)),), DEFAULTS[Category.POST])
    plan = only(planned(wall(Required("P", "post", inches(170)), post)))
    assert sum(piece.length for piece in plan.runs[0].pieces) == inches("170.75")
    assert (plan.new_sticks, plan.proven) == (2, True)


def test_lapped_outer_ends_add_a_lap_each() -> None:
    """A run lapped at both outer ends too: with factory ends it is whole panels alone, 150 + 150 - 1 less two laps."""
    run = Required("N", "panel-sand", inches(297), left_end=End(Meets.LAP), right_end=End(Meets.LAP))
    plan = only(planned(wall(run)))
    assert [piece.length for piece in plan.runs[0].pieces] == [inches(150), inches(150)]


def test_a_run_its_sticks_run_out_for_is_not_cut() -> None:
    """Two panels can't cover 329 1/2 in: the course is named, not forgotten."""
    scarce = replace(PANEL, stock=(replace(PANEL_12_6, available=2),))
    plan = planned(wall(replace(N, courses=1, cut_outs=(), keep_clear=()), scarce))
    assert [(entry.mark, entry.code) for entry in plan.not_cut] == [("N", "stock_exhausted")]


def test_an_offcut_with_its_factory_end_starts_a_course() -> None:
    """A 29 1/2 in offcut with a left factory end is the last piece of a course, so two panels are enough."""
    run = replace(N, courses=1, cut_outs=(), keep_clear=())
    job = replace(wall(run), offcuts=(Offcut("R-1", "panel-sand", inches("29.5"), 1, FactoryEnd.LEFT),))
    assert (only(planned(job)).new_sticks, only(planned(job)).proven) == (2, True)


def test_a_run_takes_the_largest_gap_of_its_sticks() -> None:
    """Where 16'-8" panels ask for 3/8 in, a run that one of them helps to cover leaves 3/8 in at both ends."""
    long = replace(PANEL, stock=(StockLength("16-8", inches(200), end_gap=inches("0.375")),))
    plan = only(planned(wall(replace(N, courses=1, cut_outs=(), keep_clear=()), long)))
    laps = len(plan.runs[0].laps_at)
    assert sum(piece.length for piece in plan.runs[0].pieces) == inches(328) - inches("0.75") + laps * inches(1)


@pytest.mark.parametrize("ends", [LapEnds.RENOTCHED, LapEnds.ANY])
def test_free_ends_never_cost_more_than_factory_ends(ends: LapEnds) -> None:
    """What factory ends allow, freer ends allow too."""
    factory, free = (only(planned(wall(N, lapped(lap_ends=kind)))) for kind in (LapEnds.FACTORY, ends))
    assert free.cost <= factory.cost
    assert free.proven


def test_cut_outs_are_given_back_from_the_ends_of_the_piece_that_carries_them() -> None:
    """The hole begins at 40 in on the wall: the first piece begins at the gap, the next ones at the laps."""
    second = only(planned(north_wall())).runs[1]
    begin = (inches("0.25"), *second.laps_at)
    assert second.cut_outs
    assert all(begin[given.piece - 1] + given.from_left == inches(40) for given in second.cut_outs)


def test_a_long_run_has_more_orders_of_its_sticks_than_anybody_lists() -> None:
    """Two runs of 200 ft are 17 pieces each; 33 panels of 150 in cover them."""
    long = Required("L", "panel-sand", inches(2400), 2, left_end=End(Meets.CHANNEL), right_end=End(Meets.CHANNEL))
    assert only(planned(wall(replace(long, wall=None)))).new_sticks == 33


def test_a_run_with_room_is_refused() -> None:
    """Room is kept beside a piece of one stick; which of a run's pieces would have it, nobody said."""
    with pytest.raises(Unplannable) as refused:
        planned(wall(replace(N, room=inches("0.5"))))
    assert [(problem.code, problem.pointer) for problem in refused.value.problems] == [
        ("room_in_run", "#/required/0/room")
    ]


def test_a_run_of_hundreds_of_pieces_is_refused() -> None:
    """A mile of siding in one run is a slip of the pen, and is named."""
    with pytest.raises(Unplannable) as refused:
        planned(wall(replace(N, length=inches(63360), courses=1, keep_clear=(), cut_outs=())))
    assert [problem.code for problem in refused.value.problems] == ["run_too_long"]
