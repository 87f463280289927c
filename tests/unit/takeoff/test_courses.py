"""Walls and openings: courses, runs, what their ends take up, keep-clear stretches, cut-outs, rips, items."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.lengths import Unit, say
from solver.required import Edge, Keeps, Meets
from solver.takeoff import take_off
from solver.takeoff.answer import Course, RunOnWall
from solver.takeoff.measured import Border, Meeting, Opening, OpeningKind, Pockets, Point, Wall
from solver.takeoff.rules import Settings
from tests.scenario import inches
from tests.support.measured_shed import DOOR, LAMP, TAP, WINDOW, house_of, plain_wall, post


def courses_of(wall: Wall, **changes: object) -> tuple[Course, ...]:
    """Return the courses of a house of this one wall."""
    return take_off(house_of(wall, **changes)).walls[0].courses


def spans(course: Course) -> list[str]:
    """Return a course's clear lengths as a person would say them."""
    return [say(run.length, Unit.IN) for run in course.runs]


def only(course: Course) -> RunOnWall:
    """Return the one run of a course."""
    (run,) = course.runs
    return run


def test_a_plain_wall_has_a_run_to_each_course() -> None:
    """96 in at 8 in exposure: twelve courses of 20 ft from the starter up, each 8 in above the one below."""
    courses = courses_of(plain_wall())
    assert [course.band.number for course in courses] == list(range(1, 13))
    assert [course.band.bottom for course in courses] == [inches(8 * n) for n in range(12)]
    assert {tuple(spans(course)) for course in courses} == {("20'-0\"",)}


def test_posts_take_up_what_was_measured() -> None:
    """20 ft less 1/2 in at each post is 19'-11"; the plan takes two 1/4 in gaps off that: 19'-10 1/2"."""
    run = only(courses_of(plain_wall(left=post("a"), right=post("b")))[0])
    assert say(run.length, Unit.IN) == "19'-11\""
    assert say(run.cut, Unit.IN) == "19'-10 1/2\""
    assert run.text == (
        '20\'-0" from outside post to outside post less 1/2" taken up at the left '
        'less 1/2" taken up at the right = 19\'-11"'
    )


def test_a_window_divides_the_courses_it_spans() -> None:
    """Window 156 to 190 in along, 35 to 80 in up: courses 6 to 10 run left and right of it, the others through."""
    courses = courses_of(plain_wall(240, 96, WINDOW))
    assert [len(course.runs) for course in courses] == [1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 1, 1]
    assert spans(courses[6]) == ["13'-0\"", "4'-2\""]


def test_pockets_of_an_opening_take_up_from_the_runs_beside_it() -> None:
    """1/2 in at its left and 1 in at its right come off the two runs."""
    window = replace(WINDOW, takes_up=Pockets(left=inches("0.5"), right=inches(1)))
    assert spans(courses_of(plain_wall(240, 96, window))[6]) == ["12'-11 1/2\"", "4'-1\""]


def test_no_lap_right_under_and_over_an_opening() -> None:
    """Courses 5 (under the sill) and 11 (over the head) keep the window's width and 1/4 in at each side clear."""
    courses = courses_of(plain_wall(240, 96, WINDOW))
    assert [course.band.number for course in courses if course.keep_clear] == [5, 11]
    (clear,) = courses[4].keep_clear
    assert (clear.start, clear.end) == (inches("155.75"), inches("190.25"))


def test_a_run_keeps_clear_only_what_it_passes() -> None:
    """Beside the door two items share course 4; the one under the window keeps clear of it, the other has nothing to.

    The window's sill is at 35 in, so course 4 (24 to 32 in) passes under it; the door reaches from 54 to 118 in.
    """
    items = take_off(house_of(plain_wall(300, 96, DOOR, WINDOW))).required
    in_course = [i for i in items if i.wall and (i.first_course or 0) <= 4 < (i.first_course or 0) + i.courses]
    assert [(item.start < inches(54), bool(item.keep_clear)) for item in in_course] == [(True, False), (False, True)]


def test_keep_clear_is_a_setting() -> None:
    """Two courses each way, or none."""
    for wanted, numbers in ((2, [4, 5, 11, 12]), (0, [])):
        courses = courses_of(plain_wall(240, 96, WINDOW), settings=Settings(keep_clear=wanted))
        assert [course.band.number for course in courses if course.keep_clear] == numbers


def test_a_sill_is_cut_from_the_top_edge() -> None:
    """Course 5 lies from 32 to 40 in, the sill at 35: 2 3/4 in stay from the lip, 1/4 in wider at each side."""
    (noted,) = only(courses_of(plain_wall(240, 96, WINDOW))[4]).cut_outs
    assert (noted.cut_out.edge, noted.cut_out.course) == (Edge.TOP, 5)
    assert (noted.cut_out.start, noted.cut_out.end) == (inches("155.75"), inches("190.25"))
    assert noted.cut_out.height == noted.height_left == noted.height_right == inches("2.75")
    assert "utility trim" in noted.notes[0]
    assert "furring" in noted.notes[1]


@pytest.mark.parametrize(("sill", "furred"), [("39.25", False), ("39", True)])
def test_furring_is_asked_for_where_a_notch_is_deeper_than_an_inch(sill: str, furred: bool) -> None:
    """1/4 in under the sill: at 39 1/4 in the notch out of course 5 is 1 in deep, at 39 in 1 1/4.

    Deeper than 1 in, the panel's slope is lost without furring (Habitat for Humanity's handbook, utility trim).
    """
    window = replace(WINDOW, bottom=inches(sill))
    (noted,) = only(courses_of(plain_wall(240, 96, window))[4]).cut_outs
    assert noted.depth == (inches("1.25") if furred else inches(1))
    assert any("furring" in note for note in noted.notes) == furred


def test_a_head_is_cut_from_the_bottom_edge() -> None:
    """The door's head at 83 in is 3 in above the lip of course 11, and 1/4 in is left to push the panel up."""
    (noted,) = only(courses_of(plain_wall(240, 96, DOOR))[10]).cut_outs
    assert (noted.cut_out.edge, noted.cut_out.height) == (Edge.BOTTOM, inches("3.25"))
    assert "lower lock" in noted.notes[0]


def test_a_small_block_is_a_hole() -> None:
    """A tap's block from 18 to 23 in lies within course 3 (16 to 24 in): a hole, 1/4 in larger all round."""
    (cut,) = only(courses_of(plain_wall(240, 96, TAP))[2]).cut_outs
    assert (cut.cut_out.edge, cut.cut_out.height, cut.top) == (Edge.HOLE, inches("1.75"), inches("7.25"))
    assert cut.cut_out.top == inches("7.25")


def test_a_block_across_two_courses_is_cut_from_both() -> None:
    """The lamp's block from 67 to 76 in: out of the top of course 9 and the bottom of course 10."""
    courses = courses_of(plain_wall(240, 96, LAMP))
    cuts = {c.band.number: [n.cut_out.edge for n in only(c).cut_outs] for c in courses if only(c).cut_outs}
    assert cuts == {9: [Edge.TOP], 10: [Edge.BOTTOM]}


def test_both_sides_of_a_crooked_sill_are_given() -> None:
    """A sill 1/4 in higher at its right: 2 3/4 in and 3 in, the lower governs, and it says to measure again."""
    window = replace(WINDOW, rises=inches("0.25"))
    (noted,) = only(courses_of(plain_wall(240, 96, window))[4]).cut_outs
    assert (noted.height_left, noted.height_right) == (inches("2.75"), inches(3))
    assert noted.cut_out.height == inches("2.75")
    assert any("measure both again" in note for note in noted.notes)


def test_the_top_course_is_ripped_under_a_soffit() -> None:
    """99 in: 3 in from the lip to the soffit less 1/4 in."""
    (rip,) = only(courses_of(plain_wall(240, 99))[-1]).rips
    assert (rip.left, rip.right, rip.keeps) == (inches("2.75"), inches("2.75"), Keeps.LIP)
    assert rip.text.startswith('3" from the lip to the back of the pocket less 1/4" = 2 3/4" high')


def test_the_top_course_stays_whole_where_the_soffit_comes_later() -> None:
    """It is nailed above the soffit's level (a housing charity's handbook)."""
    wall = plain_wall(240, 99, top=Border(Meeting.SOFFIT_LATER))
    assert only(courses_of(wall)[-1]).rips == ()


def test_a_top_out_of_level_gives_two_heights() -> None:
    """99 in at the left and 100 at the right: 2 3/4 and 3 3/4 in."""
    wall = plain_wall(240, 99)
    corners = list(wall.outline)
    corners[2] = replace(corners[2], y=inches(100))
    (rip,) = only(courses_of(replace(wall, outline=tuple(corners)))[-1]).rips
    assert (rip.left, rip.right) == (inches("2.75"), inches("3.75"))


def test_a_stepped_foundation_starts_higher_beside_the_step() -> None:
    """The left 8 ft begin at 20 in, so at the course line 24 in: three courses run only to the right of the step."""
    points = [(0, 20), (96, 20), (96, 0), (240, 0), (240, 96), (0, 96)]
    wall = plain_wall(outline=tuple(replace(plain_wall().outline[0], x=inches(x), y=inches(y)) for x, y in points))
    courses = courses_of(wall)
    assert [spans(course) for course in courses[:4]] == [["12'-0\""]] * 3 + [["20'-0\""]]


def test_alike_courses_are_one_item_with_their_marks() -> None:
    """Courses 1 to 5 pass under the window, 6 to 10 beside it, 11 and 12 over it: four items."""
    required = [r for r in take_off(house_of(plain_wall(240, 96, WINDOW))).required if r.wall]
    assert [(r.mark, r.first_course, r.courses) for r in required] == [
        ("north-1", 1, 5),
        ("north-2", 6, 5),
        ("north-3", 6, 5),
        ("north-4", 11, 2),
    ]
    assert [(c.first, c.last) for c in required[0].keep_clear] == [(5, 5)]
    assert [cut.course for cut in required[0].cut_outs] == [5]
    assert required[0].left_end.meets is Meets.CHANNEL


def test_places_share_the_walls_zero() -> None:
    """An item begins at the back of its left pocket, measured from the wall's zero."""
    required = [r for r in take_off(house_of(plain_wall(240, 96, WINDOW, left=post("a")))).required if r.wall]
    assert [r.start for r in required] == [inches("0.5"), inches("0.5"), WINDOW.right, inches("0.5")]


def test_two_walls_of_different_elevation_share_the_course_line() -> None:
    """A floor 13 in above the house's course line: siding over it begins 16 in above that line, two courses up."""
    raised = plain_wall(240, 80, bottom=Border(Meeting.DECK), elevation=inches(13))
    upper, lower = take_off(house_of(replace(raised, id="east"), plain_wall())).walls
    lifted = {course.band.bottom + inches(13) for course in upper.courses}
    assert min(lifted) == inches(16)
    assert lifted <= {course.band.bottom for course in lower.courses}


@pytest.mark.parametrize("kind", list(OpeningKind))
def test_an_opening_from_end_to_end_leaves_no_run(kind: OpeningKind) -> None:
    """As wide as the wall, from 16 to 48 in: courses 3 to 6 have no run at all, and 7 lies over it."""
    opening = Opening("wide", kind, 0, inches(16), inches(240), inches(32))
    taken = take_off(house_of(plain_wall(240, 96, opening)))
    assert [course.band.number for course in taken.walls[0].courses][:3] == [1, 2, 7]
    assert [(r.first_course, r.courses) for r in taken.required if r.wall] == [(1, 2), (7, 6)]


def test_a_slot_as_wide_as_the_wall_leaves_two_pieces_in_one_course() -> None:
    """4 in high within course 3: a piece below it and one above it, which is planned off the wall."""
    slot = Opening("slot", OpeningKind.WINDOW, 0, inches(18), inches(240), inches(4))
    panels = [r for r in take_off(house_of(plain_wall(240, 96, slot))).required if r.material == "panel-sand"]
    assert [(r.first_course, r.courses, r.ref) for r in panels] == [(1, 12, None), (None, 1, "north, course 3, upper")]
    lower, upper = take_off(house_of(plain_wall(240, 96, slot))).walls[0].courses[2].runs
    assert [lower.rips[0].left, upper.rips[0].left] == [inches("1.75")] * 2


def test_a_piece_above_another_keeps_its_cut_outs() -> None:
    """A slot from end to end leaves an upper piece in course 3 (22 1/4 to 24 in); a block from 23 in notches it."""
    slot = Opening("slot", OpeningKind.WINDOW, 0, inches(18), inches(120), inches(4))
    block = Opening("block", OpeningKind.FIXTURE, inches(50), inches(23), inches(6), inches(6), own_channel=True)
    (upper,) = [r for r in take_off(house_of(plain_wall(120, 96, slot, block))).required if "upper" in (r.ref or "")]
    assert [(c.start, c.end, c.edge, c.course) for c in upper.cut_outs] == [
        (inches("49.75"), inches("56.25"), Edge.TOP, None)
    ]


def test_nothing_is_cut_out_where_only_the_gap_is() -> None:
    """A block from 1/8 in outside the pocket's back reaches 1/4 in into the run, where the panel has its gap."""
    block = Opening("block", OpeningKind.FIXTURE, 0, inches(18), inches("0.5"), inches(3), own_channel=True)
    wall = plain_wall(240, 96, block, left=post("a"))
    assert all(run.cut_outs == () for course in courses_of(wall) for run in course.runs)


def test_a_course_cut_level_between_two_slopes_is_ripped() -> None:
    """A gable cut off at 140 in: course 18 is 140 - 136 - 1/4 = 3 3/4 in high over its whole top, and not notched."""
    outline = ((0, 0), (240, 0), (240, 96), (174, 140), (66, 140), (0, 96))
    (run,) = courses_of(plain_wall(outline=tuple(Point(inches(x), inches(y)) for x, y in outline)))[17].runs
    assert [rip.left for rip in run.rips] == [inches("3.75")]
    assert run.cut_outs == ()
