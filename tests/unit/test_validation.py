"""What lies outside its item, or over another, is refused with its place: cut-outs, rips, pieces under runs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.required import CutOut, Edge, End, Keeps, Meets, Required, Ripped
from solver.validation import find_problems
from tests import scenario
from tests.scenario import inches

CHANNEL = End(Meets.CHANNEL)
RUN = Required(
    "N", "panel-sand", inches(328), left_end=CHANNEL, right_end=CHANNEL, wall="north", first_course=1, courses=3
)


def found(*required: Required) -> list[tuple[str, str]]:
    """Return codes and places of what is wrong with these items."""
    problems = find_problems(replace(scenario.north_wall(), required=required))
    return [(problem.code, problem.pointer) for problem in problems]


def cut(start: float, end: float, course: int | None = None) -> CutOut:
    """Return a notch 3 in above the lip."""
    return CutOut(inches(start), inches(end), Edge.TOP, inches(3), course)


@pytest.mark.parametrize(
    ("cut_out", "refused"),
    [
        (cut(40, 50), []),
        (cut(40, 50, 3), []),
        (cut(-5, 10), []),
        (cut(320, 340), []),
        (cut(40, 50, 4), ["#/required/0/cut_outs/0/course"]),
        (cut(330, 340), ["#/required/0/cut_outs/0"]),
        (cut(-20, -10), ["#/required/0/cut_outs/0"]),
        (cut(-20, 0.25), ["#/required/0/cut_outs/0"]),
        (cut(327.75, 330), ["#/required/0/cut_outs/0"]),
    ],
)
def test_a_cut_out_that_no_panel_could_carry_is_refused(cut_out: CutOut, refused: list[str]) -> None:
    """Courses 1 to 3 from 0 to 328 in, panels 1/4 in inside their channels; partly outside, it is cut in part."""
    places = found(replace(RUN, cut_outs=(cut_out,)))
    assert places == [("cut_out_outside", place) for place in refused]


def test_a_cut_out_of_a_single_piece_too() -> None:
    """100 in from 10 in: a notch at 120 in lies beside it."""
    piece = Required("P", "panel-sand", inches(100), wall="north", start=inches(10), first_course=1)
    assert found(replace(piece, cut_outs=(cut(120, 130),))) == [("cut_out_outside", "#/required/0/cut_outs/0")]


def test_a_rip_in_a_course_that_the_item_has_not_is_refused() -> None:
    """Course 4 of three."""
    rip = Ripped(inches(3), inches(3), Keeps.LIP, 4)
    assert found(replace(RUN, rips=(rip,))) == [("cut_out_outside", "#/required/0/rips/0/course")]


@pytest.mark.parametrize(
    ("start", "course", "refused"), [(100, 2, True), (327, 2, True), (328, 2, False), (100, 4, False)]
)
def test_a_piece_over_a_run_is_refused(start: int, course: int, *, refused: bool) -> None:
    """Where the run of courses 1 to 3 covers 0 to 328 in, no piece may begin before 328 in course 2."""
    piece = Required("P", "panel-sand", inches(50), wall="north", start=inches(start), first_course=course)
    assert found(RUN, piece) == [("runs_overlap", "#/required/1")] * refused


def test_a_run_over_a_piece_is_refused() -> None:
    """The piece begins before the run."""
    piece = Required("P", "panel-sand", inches(50), wall="north", start=inches(-40), first_course=1)
    assert found(piece, RUN) == [("runs_overlap", "#/required/1")]


def test_a_run_under_a_piece_that_ends_sooner_is_still_seen() -> None:
    """Between two runs that overlap lies a short piece: both overlaps are named."""
    piece = Required("P", "panel-sand", inches(20), wall="north", start=inches(100), first_course=1)
    later = replace(RUN, mark="M", start=inches(200))
    assert found(RUN, piece, later) == [("runs_overlap", "#/required/1"), ("runs_overlap", "#/required/2")]


def test_pieces_may_lie_where_others_do() -> None:
    """Single pieces may be given without their places, all at the wall's zero."""
    piece = Required("P", "panel-sand", inches(50), wall="north", quantity=4, first_course=1)
    assert found(piece) == []
