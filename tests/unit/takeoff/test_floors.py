"""Floors over the house's starter line: where siding begins, the ways to close the strip below, and starter heights."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.lengths import Unit, say
from solver.required import Keeps
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Border, Finish, Meeting, Point, Role, Wall
from tests.scenario import inches
from tests.support.measured_shed import DOOR, WINDOW, house_of, plain_wall, post

DECK = Border(Meeting.DECK)


def over_deck(*, rises: float = 0, **changes: object) -> Wall:
    """Return a 20 ft wall over a deck 11 in above the house's line, which lies ``rises`` in higher at its right."""
    wall = plain_wall(bottom=DECK, elevation=inches(11), openings=(DOOR,))
    corners = list(wall.outline)
    corners[1] = Point(corners[1].x, inches(rises))
    return replace(wall, outline=tuple(corners), **changes)  # type: ignore[arg-type]


def taken(wall: Wall, **changes: object) -> TakeOff:
    """Return the take-off of this one wall."""
    return take_off(house_of(wall, **changes))


def test_siding_begins_on_the_houses_course_line() -> None:
    """The deck at 11 in and 1/2 in of clearance: the next course line of the house is 16 in up, 5 in over the deck."""
    found = taken(over_deck())
    assert found.walls[0].courses[0].band.bottom == inches(5)
    figure = next(f for f in found.walls[0].figures if f.name.startswith("north: siding begins"))
    assert figure.text == '0" the house\'s course line plus 16" 2 courses of 8" = 16"'


def test_a_sloping_floor_is_never_measured_off() -> None:
    """A deck 1 in higher at its right: the same level line, and the strip is 5 in at the left and 4 in at the right."""
    found = taken(over_deck(rises=1))
    assert found.walls[0].courses[0].band.bottom == inches(5)
    closed = found.walls[0].finishes[0]
    assert (closed.finish, closed.left, closed.right) == (Finish.TRIM, inches(5), inches(4))


def test_a_floor_too_near_the_line_skips_a_course() -> None:
    """A deck 1/4 in under a course line leaves less than the 1/2 in asked for: siding begins a course higher."""
    wall = over_deck(elevation=inches("15.75"))
    assert taken(wall).walls[0].courses[0].band.bottom == inches("8.25")


def test_three_ways_to_finish_each_with_its_consequence() -> None:
    """Trim shows; a starter behind a channel leaves the line; a ripped course has lost its lock. One has no source."""
    ways = {way.finish: way for way in taken(over_deck()).walls[0].finishes}
    assert "the trim shows" in ways[Finish.TRIM].consequence
    assert ways[Finish.TRIM].source == "common practice, no source"
    assert "4 1/2\" below the house's" in ways[Finish.CHANNEL].consequence
    assert "lost its lock" in ways[Finish.RIP].consequence
    assert "Residential Code" in ways[Finish.RIP].source


def test_trim_closes_the_strip_beside_the_door() -> None:
    """Closing trim and starter both stop at the door: 54 in to its left, 122 in to its right."""
    found = taken(over_deck())
    closing = [say(piece.length, Unit.IN) for piece in found.trim if piece.role is Role.CLOSURE]
    starter = [say(piece.length, Unit.IN) for piece in found.trim if piece.role is Role.STARTER]
    assert closing == starter == ["4'-6\"", "10'-2\""]


def test_a_starter_behind_a_channel_begins_at_the_floor() -> None:
    """The first course begins 1/2 in over the deck, off the house's line; channel and starter, no trim."""
    found = taken(over_deck(finish=Finish.CHANNEL))
    assert found.walls[0].courses[0].band.bottom == inches("0.5")
    roles = {piece.role for piece in found.trim if "over the deck" in piece.place or "starter" in piece.place}
    assert roles == {Role.CHANNEL, Role.STARTER}


def test_a_ripped_course_is_held_in_the_channel() -> None:
    """Rip: 5 in less 1/2 in is a course 4 1/2 in high, with utility trim and channel on the deck and no starter."""
    found = taken(over_deck(finish=Finish.RIP))
    first = found.walls[0].courses[0]
    (rip,) = first.runs[0].rips
    assert (rip.left, rip.right, rip.keeps) == (inches("4.5"), inches("4.5"), Keeps.HEM)
    roles = sorted(piece.role for piece in found.trim if "over the deck" in piece.place)
    assert roles == [Role.CHANNEL, Role.CHANNEL, Role.UTILITY, Role.UTILITY], "at both sides of the door"
    assert not any(piece.role is Role.STARTER for piece in found.trim)


def test_a_ripped_course_follows_a_sloping_floor() -> None:
    """1 in higher at the right: 4 1/2 in at the left, 3 1/2 in at the right."""
    (rip,) = taken(over_deck(rises=1, finish=Finish.RIP, openings=())).walls[0].courses[0].runs[0].rips
    assert (rip.left, rip.right) == (inches("4.5"), inches("3.5"))
    assert 'at the left, 3 1/2" at the right' in rip.text


def test_a_post_stands_on_the_deck_not_in_it() -> None:
    """Starter 5 in over the deck, 1/2 in of clearance: the post goes 4 1/2 in below the starter, 96 - 1/2 - 1/4 in."""
    found = taken(over_deck(left=post("a"), openings=()))
    (corner,) = [piece for piece in found.trim if piece.role is Role.OUTSIDE_POST]
    assert say(corner.length, Unit.IN) == "7'-11 1/4\""


def test_a_shared_corner_has_one_post_as_long_as_both_walls_need() -> None:
    """The higher wall's soffit and the lower wall's starter: 11 + 96 in, and 1/2 in."""
    low = plain_wall(left=post("b"), right=post("a"))
    high = replace(over_deck(left=post("a"), right=post("c"), openings=()), id="south")
    posts = [piece for piece in take_off(house_of(low, high)).trim if piece.role is Role.OUTSIDE_POST]
    assert [piece.place for piece in posts] == ["corner b", "corner a", "corner c"]
    assert posts[1].length == inches("107.5")


def test_a_sliver_is_named_with_the_height_that_avoids_it() -> None:
    """97 1/2 in leave 1 1/4 in at the top; a course line 3/4 in lower leaves 2 in."""
    (notice,) = [n for n in taken(plain_wall(240, 97.5)).notices if n.code == "sliver"]
    assert 'north: top course only 1 1/4" of a panel is left' in notice.detail
    assert 'a course line 3/4" lower avoids every sliver' in notice.detail


def test_no_sliver_no_notice() -> None:
    """99 in leave 2 3/4 in."""
    assert not [n for n in taken(plain_wall(240, 99)).notices if n.code == "sliver"]


def test_slivers_that_no_height_avoids_are_said_to_be() -> None:
    """Tops 1/4, 1 1/4, 3, 4 3/4 and 6 1/2 in over a course line: wherever it moves, one is under 2 in."""
    walls = [replace(plain_wall(240, height), id=f"{height}") for height in (96.5, 97.5, 99.25, 101, 102.75)]
    notices = [n for n in take_off(house_of(*walls)).notices if n.code == "sliver"]
    assert notices
    assert all("no height within" in notice.detail for notice in notices)


def test_rips_for_a_few_starter_heights() -> None:
    """Sill at 35 in: 2 3/4 in stay under it as the line is, 4 3/4 in with the line 2 in lower, 3/4 in 2 in higher."""
    heights = {h.shift: h for h in taken(plain_wall(240, 96, WINDOW)).starter_heights}
    under = {shift: h.strips[1].height for shift, h in heights.items()}
    assert sorted(heights) == [inches(n) for n in (-2, -1, -0.5, 0, 0.5, 1, 2)]
    assert (under[inches(-2)], under[0], under[inches(2)]) == (inches("4.75"), inches("2.75"), inches("0.75"))
    over = "over the head of window W", inches("1.75")
    low = [(strip.place, strip.height) for strip in heights[inches(2)].slivers]
    assert low == [("under the sill of window W", inches("0.75")), over], "82 - 80 - 1/4 in stays over the head"


def test_a_strip_that_nothing_covers_is_named() -> None:
    """A wall measured from 3 in above the course line: its siding begins at the next one, 5 in up."""
    notices = [n for n in taken(plain_wall(elevation=inches(3))).notices if n.code == "strip_below"]
    assert [notice.got for notice in notices] == [inches(5)]


def test_a_corner_without_a_name_has_its_own_post() -> None:
    """Two walls that don't name their common corner get a post each, and that is said."""
    wall = plain_wall(left=Border(Meeting.OUTSIDE_POST, 0))
    found = take_off(house_of(wall, replace(wall, id="south")))
    assert [n.wall for n in found.notices if n.code == "corner_unnamed"] == ["north", "south"]
    assert len([piece for piece in found.trim if piece.role is Role.OUTSIDE_POST]) == 2


@pytest.mark.parametrize(("grade", "warned"), [(-6, False), (-5, True)])
def test_siding_keeps_off_the_ground(grade: int, warned: bool) -> None:
    """6 in above grade (residential code)."""
    codes = [notice.code for notice in taken(plain_wall(grade=inches(grade))).notices]
    assert ("near_ground" in codes) is warned


def test_the_house_has_one_story_pole() -> None:
    """A wall from its level line, and one beside it whose deck lies 11 in up, both at 8 in.

    Over the deck 11 + 1/2 in, so siding begins at the next line, 16 in: its course 1 is course 3 of the other, 5 in
    above the deck. From floor to floor 11 in: one course of 8 in and 3 in.
    """
    porch = replace(plain_wall(120, 85, bottom=Border(Meeting.DECK), elevation=inches(11)), id="porch")
    pole = take_off(house_of(plain_wall(), porch)).pole
    assert pole is not None
    assert [(course.height, course.text) for course in pole.courses[:3]] == [
        (0, "north 1"), (inches(8), "north 2"), (inches(16), "north 3, porch 1"),
    ]  # fmt: skip
    assert [(s.wall, s.height, s.left, s.right) for s in pole.starts] == [
        ("north", 0, 0, 0), ("porch", inches(16), inches(5), inches(5)),
    ]  # fmt: skip
    assert pole.steps == (
        "from north, the wall's bottom, up to porch, the deck: 11\", which is 1 course of 8\" and 3\"",
    )  # fmt: skip
    texts = {mark.text for mark in pole.marks}
    assert texts == {"north: the wall's bottom", "north: top", "porch: the deck", "porch: top"}


def test_a_starter_stands_higher_at_the_low_end_of_a_floor() -> None:
    """A deck that falls 2 in over 20 ft to the right: 1/2 in above its high end, so 8 in up at the left, 10 right."""
    outline = (Point(0, 0), Point(inches(240), inches(-2)), Point(inches(240), inches(96)), Point(0, inches(96)))
    pole = take_off(house_of(plain_wall(outline=outline, bottom=Border(Meeting.DECK)))).pole
    assert pole is not None
    assert [(start.left, start.right) for start in pole.starts] == [(inches(8), inches(10))]
