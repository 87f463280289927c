"""Figures of the take-off done by hand: clearances, lengths that fit, nails, advice, counts; each with its sum."""

from __future__ import annotations

import pytest

from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Border, Ceiling, Eave, Finish, Meeting, Opening, OpeningKind, Role, Wall
from tests.scenario import inches
from tests.support.measured_shed import DOOR, LAMP, WINDOW, house_of, plain_wall, post

DECK = Border(Meeting.DECK)


def cut_out(wall: Wall, course: int) -> tuple[int, tuple[str, ...]]:
    """Return the height of the one cut-out of a course, and what is said of it."""
    (noted,) = take_off(house_of(wall)).walls[0].courses[course - 1].runs[0].cut_outs
    return noted.cut_out.height, noted.notes


def lengths(found: TakeOff, role: Role, place: str) -> list[int]:
    """Return the lengths of the trim at a place."""
    return [piece.length for piece in found.trim if piece.role is role and place in piece.place]


def figure(found: TakeOff, name: str) -> object:
    """Return the value of a figure of the house."""
    return next(f.value for f in found.figures if f.name == name)


def test_a_head_has_the_clearance_of_a_sill() -> None:
    """Head at 83 in, lip of course 11 at 80: 3 in and 1/4 in to push the panel up (common practice, no source)."""
    assert cut_out(plain_wall(240, 96, DOOR), 11)[0] == inches("3.25")


def test_a_head_on_a_course_line_is_notched_by_its_clearance() -> None:
    """Head at 80 in, where course 11 begins: 1/4 in, as over a fixture (common practice, no source)."""
    assert cut_out(plain_wall(240, 96, WINDOW), 11)[0] == inches("0.25")


@pytest.mark.parametrize(("opening", "course"), [(DOOR, 11), (LAMP, 9)])
def test_no_furring_where_no_utility_trim_holds_the_edge(opening: Opening, course: int) -> None:
    """The 1 in rule is for utility trim under a sill (a housing charity's handbook): not at heads, nor at fixtures."""
    words = " ".join(cut_out(plain_wall(240, 96, opening), course)[1])
    assert "furring" not in words
    assert "utility" not in words


def test_utility_trim_at_the_top_fits_between_the_posts() -> None:
    """20 ft less 1/2 in at each post and 1/4 in at each end: 240 - 1 - 1/2 = 238 1/2 in."""
    found = take_off(house_of(plain_wall(240, 99, left=post("a"), right=post("b"))))
    assert lengths(found, Role.UTILITY, "the top") == [inches("238.5")]


def test_utility_trim_under_a_sill_is_as_wide_as_the_notch() -> None:
    """Window 34 in wide, notch 1/4 in wider at each side: 34 1/2 in."""
    assert lengths(take_off(house_of(plain_wall(240, 96, WINDOW))), Role.UTILITY, "sill") == [inches("34.5")]


def test_a_door_above_its_floor_has_utility_trim_under_its_sill() -> None:
    """A door 20 in up on a landing: the panel under it has lost its hem as under a window."""
    raised = Opening("L", OpeningKind.DOOR, inches(60), inches(20), inches(36), inches(70))
    assert lengths(take_off(house_of(plain_wall(240, 96, raised))), Role.UTILITY, "sill") == [inches("36.5")]


def test_channel_stays_above_a_deck() -> None:
    """96 in from the deck less 1/2 in (residential code R703.3.1), at a wall's end as beside a door: 95 1/2, 82 1/2."""
    found = take_off(house_of(plain_wall(240, 96, DOOR, bottom=DECK), face=0))
    assert lengths(found, Role.CHANNEL, "the left end") == [inches("95.5")]
    assert lengths(found, Role.CHANNEL, "side") == [inches("82.5")]


def test_channel_on_a_floor_stops_at_its_door() -> None:
    """20 ft between posts whose flanges reach 1 1/4 in, door from 54 to 118 in: 54 and 122 in, less 1 3/4."""
    wall = plain_wall(240, 96, DOOR, bottom=DECK, finish=Finish.CHANNEL, left=post("a"), right=post("b"))
    assert lengths(take_off(house_of(wall)), Role.CHANNEL, "over the deck") == [inches("52.25"), inches("120.25")]


def test_closing_trim_ends_at_the_posts() -> None:
    """20 ft less 1 1/4 in of flange at each post: 237 1/2 in."""
    wall = plain_wall(240, 96, bottom=DECK, elevation=inches(11), left=post("a"), right=post("b"))
    assert lengths(take_off(house_of(wall)), Role.CLOSURE, "") == [inches("237.5")]


def test_a_course_without_a_hem_takes_no_nails() -> None:
    """99 in: twelve courses of 20 ft at 16 in, 15 spacings and one more = 192; the ripped thirteenth is held."""
    assert figure(take_off(house_of(plain_wall(240, 99))), "nails for panels") == 192


def test_posts_are_nailed_on_both_flanges() -> None:
    """Two posts of 96 1/2 in at 12 in: 9 spacings and one more on each of two flanges, 40; and 20 ft of channel 21.

    Every 8 to 12 in: Polymeric Exteriors Association, accessories. Starter 237 in and utility trim 238 1/2 in take 21
    each: 40 + 42 = 82.
    """
    found = take_off(house_of(plain_wall(240, 96, left=post("a"), right=post("b"))))
    assert figure(found, "nails for trim") == 82


def test_soffit_takes_a_nail_at_each_end_and_nailer() -> None:
    """17 panels of 114 in at 16 in: 7 lines between and two ends, 9 each = 153; an eave of 16 in, 2 each.

    Fastened at both ends, and every 16 in: International Residential Code R704.2.1.
    """
    ceiling = Ceiling("lean-to", inches(204), inches(114))
    assert figure(take_off(house_of(ceilings=(ceiling,))), "nails for soffit") == 153
    eave = Eave("rear", inches(240), inches(16))
    assert figure(take_off(house_of(eaves=(eave,))), "nails for soffit") == 40


def test_courses_are_those_of_the_plan() -> None:
    """96 1/8 in at 8 in is 12.02, of which the last 1/8 in lies in the pocket's clearance: 12 courses, not 13."""
    taken = take_off(house_of(plain_wall(240, 96.125))).walls[0]
    found = next(f for f in taken.figures if f.name == "courses")
    assert (found.value, len(taken.courses)) == (12, 12)
    assert found.text == '8\'-0 1/8" / 8" = 12.02, less what lies in pockets and clearances = 12'


def test_a_door_on_the_floor_has_no_strip_under_it() -> None:
    """Not even with a lower course line."""
    heights = take_off(house_of(plain_wall(240, 96, DOOR))).starter_heights
    assert not [s for height in heights for s in height.strips if "under the sill of door" in s.place]
