"""Measurements that can't be taken off: each problem names its wall and opening, and all come at once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.errors import Problem, Unplannable
from solver.takeoff import take_off
from solver.takeoff.measured import Border, Ceiling, House, Meeting, Opening, OpeningKind, Point, Role, Wall, gable
from tests.scenario import inches
from tests.support.measured_shed import DOOR, WINDOW, house_of, plain_wall


def problems_of(house: House) -> tuple[Problem, ...]:
    """Return what is wrong with the measurements."""
    with pytest.raises(Unplannable) as refused:
        take_off(house)
    return refused.value.problems


def wall_of(*points: tuple[float, float]) -> Wall:
    """Return a wall with an outline in inches."""
    return plain_wall(outline=tuple(Point(inches(x), inches(y)) for x, y in points))


def window(left: float, bottom: float, width: float = 30, height: float = 30, name: str = "X") -> Opening:
    """Return a window in inches."""
    return Opening(name, OpeningKind.WINDOW, inches(left), inches(bottom), inches(width), inches(height))


@pytest.mark.parametrize(
    ("wall", "code", "named"),
    [
        (plain_wall(240, 96, WINDOW, window(180, 40)), "openings_overlap", "window X overlaps window W"),
        (plain_wall(240, 96, window(220, 40)), "opening_sticks_out", "from 18'-4\" to 20'-10\""),
        (plain_wall(240, 96, window(-1, 40)), "opening_sticks_out", "window X"),
        (plain_wall(240, 96, window(40, 70)), "opening_off_the_wall", "window X floats above"),
        (plain_wall(240, 96, window(40, -5)), "opening_off_the_wall", "hangs below"),
        (plain_wall(outline=gable(inches(240), 0, inches(60)), openings=(window(4, 10),)), "opening_off_the_wall", "X"),
        (plain_wall(240, 7), "lower_than_a_course", 'lower than one course of 8"'),
        (wall_of((0, 0), (240, 96), (240, 0), (0, 96)), "outline_crosses", "cuts itself"),
        (wall_of((0, 0), (240, 96), (240, 0), (0, 90)), "outline_crosses", '(0", 0") to (20\'-0", 8\'-0")'),
        (wall_of((0, 0), (240, 0)), "outline_not_closed", "three corners"),
        (wall_of((0, 0), (120, 0), (240, 0)), "outline_not_closed", "three corners"),
        (wall_of((0, 0), (240, 0), (240, 0), (0, 96)), "outline_crosses", "each once"),
        (wall_of((0, 0), (240, 0), (240, 96), (120, 96), (120, 50), (60, 50), (60, 96), (0, 96)), "", ""),
        (
            wall_of((0, 0), (120, 0), (120, 40), (240, 40), (240, 60), (60, 60), (60, 20), (0, 20)),
            "",
            "",
        ),
        (
            wall_of((0, 0), (240, 0), (240, 100), (60, 100), (60, 70), (180, 70), (180, 40), (0, 40)),
            "outline_doubles_back",
            "two walls",
        ),
        (plain_wall(left=Border(Meeting.OUTSIDE_POST)), "takes_up_missing", "measure a scrap of post"),
        (plain_wall(left=Border(Meeting.DECK)), "meets_nonsense", "its left (edge 3) can't meet deck"),
        (plain_wall(240, 96, window(40, 40, width=0)), "no_size", "no width"),
    ],
)
def test_a_wall_that_cant_be_is_refused(wall: Wall, code: str, named: str) -> None:
    """Each fault alone gives one problem with its code, which names wall and opening; harmless shapes give none."""
    if not code:
        assert take_off(house_of(wall)).walls
        return
    (problem,) = problems_of(house_of(wall))
    assert problem.code == code
    assert "wall north" in problem.detail
    assert named in problem.detail
    assert problem.pointer.startswith("#/walls/0")


def test_a_floor_above_the_walls_top() -> None:
    """A wall 8 1/8 in high whose deck lies 1/4 in under a course line: siding would begin 8 1/4 in up."""
    wall = plain_wall(240, 8.125, bottom=Border(Meeting.DECK), elevation=inches("-0.25"))
    (problem,) = problems_of(house_of(wall, exposure=inches(8)))
    assert problem.code == "floor_above_top"
    assert "check its levels" in problem.detail


def test_a_door_may_reach_below_the_wall() -> None:
    """Its threshold lies lower than the starter: that is no fault."""
    assert take_off(house_of(plain_wall(240, 96, replace(DOOR, bottom=inches(-4))))).walls


@pytest.mark.parametrize(
    ("house", "code"),
    [
        (house_of(plain_wall(), exposure=0), "no_exposure"),
        (house_of(plain_wall(), uses={}), "no_material"),
        (house_of(plain_wall(), uses={Role.PANEL: "gone"}), "unknown_material"),
        (house_of(ceilings=(Ceiling("c", inches(96), inches(96)),), coverage=None), "no_coverage"),
        (house_of(plain_wall(240, 96, WINDOW), face=None), "no_face"),
        (house_of(plain_wall(), plain_wall()), "named_twice"),
        (house_of(plain_wall(240, 96, WINDOW, replace(WINDOW, left=inches(20)))), "named_twice"),
        (house_of(plain_wall(), exposure=100), "too_many_courses"),
        (house_of(plain_wall(3000, 12000, *(window(50 * n, 40, name=f"{n}") for n in range(60)))), "too_many_openings"),
        (house_of(), "nothing_measured"),
    ],
)
def test_a_house_that_lacks_a_measure_is_refused(house: House, code: str) -> None:
    """Exposure, panel, coverage and face are asked for where they are needed."""
    assert [problem.code for problem in problems_of(house)] == [code]


def test_all_problems_come_at_once() -> None:
    """Two walls with two faults each: four problems, in the order of the request."""
    one = plain_wall(240, 96, window(220, 40), window(40, 80, name="Y"))
    two = replace(plain_wall(240, 96, window(-5, 40), left=Border(Meeting.OUTSIDE_POST)), id="south")
    assert [(p.pointer, p.code) for p in problems_of(house_of(one, two))] == [
        ("#/walls/0/openings/0", "opening_sticks_out"),
        ("#/walls/0/openings/1", "opening_off_the_wall"),
        ("#/walls/1/left/takes_up", "takes_up_missing"),
        ("#/walls/1/openings/0", "opening_sticks_out"),
    ]


def corner(meets: Meeting = Meeting.OUTSIDE_POST, name: str = "x") -> Border:
    """Return a post at a named corner."""
    return Border(meets, inches("0.5"), name)


FREE = Border(Meeting.CHANNEL)


def test_two_walls_share_a_corner_and_so_do_the_walls_of_the_floor_above() -> None:
    """Two walls below, two above them, all at one corner: none crosses another."""
    low = [plain_wall(left=corner(), right=FREE), replace(plain_wall(left=FREE, right=corner()), id="b")]
    high = [replace(wall, id=f"{wall.id} above", elevation=inches(96)) for wall in low]
    assert take_off(house_of(*low, *high)).walls


def test_walls_that_cross_are_named() -> None:
    """A third wall at a corner of two, and a wall that ends where it begins; the other walls are fine."""
    walls = [replace(plain_wall(left=corner(), right=FREE), id=name) for name in ("a", "b", "c")]
    round_about = replace(plain_wall(left=corner(name="y"), right=corner(name="y")), id="d")
    found = problems_of(house_of(*walls, round_about))
    assert [(p.code, p.pointer) for p in found] == [
        ("walls_cross", "#/walls/2/left/corner"), ("walls_cross", "#/walls/3/left/corner"),
    ]  # fmt: skip
    assert "wall c crosses a and b at corner x" in found[0].detail


def test_a_corner_is_an_outside_or_an_inside_one() -> None:
    """One post stands there, so both walls meet the same."""
    inside = replace(plain_wall(left=corner(Meeting.INSIDE_POST), right=FREE), id="b")
    (problem,) = problems_of(house_of(plain_wall(left=FREE, right=corner()), inside))
    assert (problem.code, problem.pointer) == ("corner_disagrees", "#/walls/1/left/meets")
    assert problem.detail == "at corner x wall north meets an outside post, wall b meets an inside post"
