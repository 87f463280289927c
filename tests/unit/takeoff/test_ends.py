"""Gables and slopes: long edges, leans, gaps square to a rake, patterns, peaks, walls over a sloping roof."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from solver.lengths import Unit, say
from solver.required import Edge, Side, Slope
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Point, gable
from tests.measured_shed import house_of, plain_wall
from tests.scenario import inches

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
    """Eaves at 100 in, in course 13 (96 to 104 in): its long edge is upright there, and it still needs a pattern."""
    taken = gable_wall(gable(inches(240), inches(100), inches(160)))
    run = taken.walls[0].courses[12].runs[0]
    assert say(run.length, Unit.IN) == "20'-0\""
    assert run.left.extra == 0
    assert run.pattern
    assert run.left.end.slope == Slope(Fraction(1, 2), Side.RIGHT, Edge.BOTTOM)


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
    assert "0.56 in along the panel" in figures["gap at a 6/12 slope"].text


def test_rakes_are_trimmed_with_channel_along_the_slope() -> None:
    """Root of 120 squared plus 60 squared is 134.16 in, rounded up to 134 3/16."""
    rakes = [piece for piece in gable_wall().trim if piece.place.endswith("the rake")]
    assert [say(piece.length, Unit.IN) for piece in rakes] == ["11'-2 3/16\""] * 2


def test_courses_that_need_a_pattern_are_named_once() -> None:
    """All of a triangle's; on a wall with eaves at 100 in only those from there up."""
    (every,) = [notice for notice in gable_wall().notices if notice.code == "pattern"]
    assert "in course 1 to 8: make a pattern" in every.detail
    (upper,) = [n for n in gable_wall(gable(inches(240), inches(100), inches(160))).notices if n.code == "pattern"]
    assert "in course 13 to 20:" in upper.detail


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
