"""Gables and slopes: long edges, leans, gaps square to a rake, patterns, peaks, walls over a sloping roof."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from solver.lengths import Unit, say
from solver.required import Edge, Side, Slope
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Border, Meeting, Point, gable
from tests.scenario import inches
from tests.support.measured_shed import house_of, plain_wall, post

TRIANGLE = gable(inches(240), 0, inches(60))
"""20 ft wide, 60 in high: 6/12."""


def gable_wall(outline: tuple[Point, ...] = TRIANGLE, **changes: object) -> TakeOff:
    """Return the take-off of a wall of this outline."""
    return take_off(house_of(plain_wall(outline=outline), **changes))


def test_the_long_edge_at_the_bottom_governs() -> None:
    """Course 2 of a 6/12 gable begins 16 in further in at each side; both ends lean inward."""
    run = gable_wall().walls[0].courses[1].runs[0]
    assert [run.left.measured, run.right.measured] == [Fraction(inches(16)), Fraction(inches(224))]
    assert run.left.end.slope == Slope(Fraction(1, 2), Side.RIGHT, Edge.BOTTOM)
    assert run.right.end.slope == Slope(Fraction(1, 2), Side.LEFT, Edge.BOTTOM)
    assert run.pattern


def test_the_gap_is_kept_square_to_the_rake() -> None:
    """1/4 in square to 6/12 is 0.559 in along: 5/16 beyond the end gap, rounded up to a sixteenth, at each end."""
    run = gable_wall().walls[0].courses[1].runs[0]
    assert [say(int(end.extra), Unit.IN) for end in (run.left, run.right)] == ['5/16"', '5/16"']
    assert say(run.length, Unit.IN) == "17'-3 3/8\""
    assert "more than the end gap along the slope" in run.text


def test_a_gable_on_a_wall_bends_within_a_course() -> None:
    """Eaves at 100 in, in course 13 (96 to 104 in): its long edge is upright there, and it still needs a pattern.

    Between channels whose backs lie on the measured line: 1/4 in of gap at the upright part, and square to 6/12
    0.559 in along, so the two edges meet (0.25 - 0.559) / 2 = 0.155 in below the eaves: 4 - 0.155 = 3.845, in
    sixteenths rounded down 3 13/16 in above the lip (geometry).
    """
    taken = gable_wall(gable(inches(240), inches(100), inches(160)))
    run = taken.walls[0].courses[12].runs[0]
    assert say(run.length, Unit.IN) == "20'-0\""
    assert run.left.extra == 0
    assert run.pattern
    assert run.left.end.slope == Slope(Fraction(1, 2), Side.RIGHT, Edge.BOTTOM, inches("3.8125"))


def bare(taken: TakeOff) -> list[Fraction]:
    """Return for each course how far its upper edge, cut as its ends say, falls short of the rake less its gap.

    By geometry alone: an end that is upright for u and slopes for the rest of 8 in is (8 - u) / pitch shorter above.
    """
    short = []
    for course in taken.walls[0].courses:
        for run in course.runs:
            slope, top = run.left.end.slope, course.band.top
            if slope and top < inches(212):
                above = run.start + run.left.gap + (inches(8) - slope.upright) / slope.pitch
                rake = (top - inches(100)) / slope.pitch
                short.append(above - rake)
    return short


def test_no_course_across_the_eaves_leaves_the_wall_bare() -> None:
    """28 ft, eaves at 100 in, 8/12, in posts that take up 1/2 in: course 13 is upright to where its edges meet.

    The upright edge is 1/2 + 1/4 = 0.75 in from the corner, the sloping one 1.5 (y - 100) + 0.4507 (1/4 in x root of
    (1 + 1.5 squared)): they meet at y = 100.1995, 4.1995 in above the lip, 4 3/16 rounded down. Its top edge at 104 in
    is then 336 - 2 (0.75 + 1.5 x 3.8125) = 323.06 in, where 324 - 2 x 0.4507 = 323.10 in is open (geometry). Cut with a
    slope over its whole 8 in it was 336 - 2 (0.75 + 12) = 310.5 in, and left 6 in bare at each end.
    """
    wall = plain_wall(outline=gable(inches(336), inches(100), inches(212)), left=post("a"), right=post("b"))
    taken = take_off(house_of(wall))
    run = taken.walls[0].courses[12].runs[0]
    assert [end.end.slope and end.end.slope.upright for end in (run.left, run.right)] == [inches("4.1875")] * 2
    assert say(run.cut, Unit.IN) == "27'-10 1/2\""
    assert all(inches("0.4375") <= short <= inches("0.5625") for short in bare(taken))
    (bend, _) = [notice for notice in taken.notices if notice.code == "bend"]
    assert bend.course == 13
    assert 'its left end is upright for 4 3/16" from its bottom edge, then slopes 8/12' in bend.detail


@pytest.mark.parametrize("eaves", range(97, 104))
def test_every_height_of_the_eaves_is_covered(eaves: int) -> None:
    """Eaves that are no whole number of courses: course 13 is upright for the eaves less 96 in and, as above, 0.1995.

    In sixteenths, rounded down: 3/16 in more than the eaves stand above the lip (geometry).
    """
    outline = gable(inches(336), inches(eaves), inches(eaves + 112))
    wall = plain_wall(outline=outline, left=post("a"), right=post("b"))
    run = take_off(house_of(wall)).walls[0].courses[12].runs[0]
    assert run.left.end.slope is not None
    assert run.left.end.slope.upright == inches(eaves - 96) + inches("0.1875")


def test_a_wall_over_a_roof_that_ends_within_a_course_is_upright_above() -> None:
    """A 4/12 roof rises to 76 in at the right end: course 10 (72 to 80 in) slopes below that and is upright above.

    Its sloping edge keeps 1/4 x root of (1 + 9) = 0.79 in, the upright one 1/4 in: they meet (0.79 - 0.25) / 3 =
    0.18 in above the end of the roof, 80 - 76.18 = 3.82 in from the top: 3 13/16 rounded down (geometry).
    """
    roof = (Point(0, 0), Point(inches(228), inches(76)), Point(inches(228), inches(160)), Point(0, inches(160)))
    over = Border(Meeting.ROOF, 0)
    wall = plain_wall(outline=roof, edges={0: over})
    run = take_off(house_of(wall)).walls[0].courses[9].runs[0]
    assert run.right.end.slope == Slope(Fraction(1, 3), Side.RIGHT, Edge.TOP, inches("3.8125"))


def test_an_end_that_turns_more_than_once_is_named() -> None:
    """A gambrel's break within a course: two slopes at one end can't be told in one, so the answer says to trace it."""
    gambrel = [(0, 0), (240, 0), (220, 60), (120, 90), (20, 60)]
    taken = gable_wall(tuple(Point(inches(x), inches(y)) for x, y in gambrel))
    assert [(n.course, "pattern of the whole end" in n.detail) for n in taken.notices if n.code == "odd_end"] == [
        (8, True),
        (8, True),
    ]


def test_the_long_edge_is_at_the_top_over_a_sloping_roof() -> None:
    """A wall over a 4/12 roof that rises to the right: course 1 reaches 24 in further right at its top than its lip."""
    roof = (Point(0, 0), Point(inches(240), inches(80)), Point(inches(240), inches(160)), Point(0, inches(160)))
    run = gable_wall(roof).walls[0].courses[0].runs[0]
    assert run.right.end.slope == Slope(Fraction(1, 3), Side.RIGHT, Edge.TOP)
    assert run.right.measured == inches(24)


def test_the_hem_is_longer_still_over_a_sloping_roof() -> None:
    """A hem 1 in high reaches 3 in further along a 4/12 roof."""
    roof = (Point(0, 0), Point(inches(240), inches(80)), Point(inches(240), inches(160)), Point(0, inches(160)))
    run = gable_wall(roof, hem=inches(1)).walls[0].courses[0].runs[0]
    assert run.right.measured == inches(27)


def test_the_hem_is_longer_at_the_left_too() -> None:
    """The same roof rising to the left: course 1 reaches to 216 in at its top, and its hem 3 in further, to 213."""
    roof = (Point(0, inches(80)), Point(inches(240), 0), Point(inches(240), inches(160)), Point(0, inches(160)))
    for hem, place in ((0, 216), (1, 213)):
        run = gable_wall(roof, hem=inches(hem)).walls[0].courses[0].runs[0]
        assert (run.left.end.slope, run.left.measured) == (Slope(Fraction(1, 3), Side.LEFT, Edge.TOP), inches(place))


def test_a_hem_reaches_no_further_than_the_roof_does() -> None:
    """The wall ends at 25 1/2 in, and the roof with it: a hem of 1 in finds 1 1/2 in of wall beyond the 24, not 3."""
    end = inches("25.5")
    roof = (Point(0, 0), Point(end, inches("8.5")), Point(end, inches(160)))
    run = gable_wall((*roof, Point(0, inches(160))), hem=inches(1)).walls[0].courses[0].runs[0]
    assert run.right.measured == end


def test_a_shed_wall_slopes_at_one_end() -> None:
    """Level at the left, 3/12 at the right: only the right end slopes."""
    shed = (Point(0, 0), Point(inches(96), 0), Point(inches(96), inches(8)), Point(0, inches(32)))
    run = gable_wall(shed).walls[0].courses[1].runs[0]
    assert run.left.end.slope is None
    assert run.right.end.slope == Slope(Fraction(1, 4), Side.LEFT, Edge.BOTTOM)


def test_a_peak_may_be_short_and_is_face_fastened() -> None:
    """The last course of the 60 in gable is 16 in long at 56 in: shorter than a lapped piece may be, and allowed."""
    taken = gable_wall()
    (peak,) = [notice for notice in taken.notices if notice.code == "peak"]
    assert peak.course == 8
    assert "face-fasten" in peak.detail
    assert say(taken.walls[0].courses[-1].runs[0].length, Unit.IN) == '15 3/8"'


def test_a_corner_too_short_to_cut_is_named() -> None:
    """A tip 1/8 in high above the last course line is no panel: it is said, not cut."""
    taken = gable_wall(gable(inches(240), 0, inches("56.125")))
    assert [notice.course for notice in taken.notices if notice.code == "too_short"] == [8]
    assert max(r.first_course or 0 for r in taken.required) == 7


def test_what_a_slope_takes_is_a_figure() -> None:
    """8 in at 6/12 is 16 in from long edge to short, and the drop serves only the same lean."""
    figures = {figure.name: figure for figure in gable_wall().walls[0].figures}
    assert figures["slope 6/12"].value == inches(16)
    assert "can't be turned" in figures["slope 6/12"].text
    assert "0.56 in along the panel" in figures["gap on a slope of 6/12"].text


def test_rakes_are_trimmed_with_channel_along_the_slope() -> None:
    """Root of 120 squared plus 60 squared is 134.16 in, rounded up to 134 3/16."""
    rakes = [piece for piece in gable_wall().trim if "the rake rising" in piece.place]
    assert [piece.place.rpartition(" ")[2] for piece in rakes] == ["left", "right"], "as the outline goes"
    assert [say(piece.length, Unit.IN) for piece in rakes] == ["11'-2 3/16\""] * 2


def test_courses_that_need_a_pattern_are_named_once() -> None:
    """All of a triangle's; on a wall with eaves at 100 in only those from there up."""
    (every,) = [notice for notice in gable_wall().notices if notice.code == "pattern"]
    assert "in courses 1 to 8: make a pattern" in every.detail
    (upper,) = [n for n in gable_wall(gable(inches(240), inches(100), inches(160))).notices if n.code == "pattern"]
    assert "in courses 13 to 20:" in upper.detail


def test_two_gables_on_one_wall_leave_a_valley() -> None:
    """An M: below the valley one run passes, above it there are two."""
    points = [(0, 0), (240, 0), (180, 60), (120, 30), (60, 60)]
    outline = tuple(Point(inches(x), inches(y)) for x, y in points)
    courses = gable_wall(outline).walls[0].courses
    assert [len(course.runs) for course in courses] == [1, 1, 1, 1, 2, 2, 2, 2]
    assert courses[3].runs[0].pattern


def test_metric_slopes_are_rounded_to_a_millimetre() -> None:
    """The step of a metric take-off is 1 mm."""
    wall = replace(plain_wall(), outline=TRIANGLE)
    run = take_off(house_of(wall, unit=Unit.MM)).walls[0].courses[1].runs[0]
    assert run.start % 320 == 0
