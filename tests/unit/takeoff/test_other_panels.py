"""Panels that hang otherwise: upright ones and board and batten, rows of short ones, foam-backed ones, by hand.

10 ft 6 in between two posts of 1/2 in, 8 ft high: 125 in from pocket to pocket, upright panels that cover 12 in.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from service.drawing.elevation import draw_elevation
from service.drawing.svg import svg
from solver import plan_job
from solver.categories import Category
from solver.errors import Unplannable
from solver.job import Job
from solver.lengths import Unit
from solver.required import Edge, Keeps, Ripped, Side
from solver.takeoff import TakeOff, take_off
from solver.takeoff.answer import RunOnWall
from solver.takeoff.goods import Begin, Need, Panel
from solver.takeoff.measured import House, Opening, OpeningKind, Role, Wall, gable
from tests.scenario import inches
from tests.support.measured_shed import MATERIALS, WINDOW, house_of, material, plain_wall, post

BOARD = material("board", Category.VERTICAL, 150)
SHAKE = material("shake-grey", Category.SHAKE, 48)
BACKED = material("panel-backed", Category.INSULATED, 192)
SQUARE = Opening("W", OpeningKind.WINDOW, inches(30), inches(36), inches(40), inches(40))
WALL = plain_wall(126, 96, left=post("a"), right=post("b"))


def covered(wall: Wall, panel: Panel, *others: Wall, **changes: object) -> House:
    """Return a house whose first wall is covered with another panel."""
    materials = (*MATERIALS.values(), BOARD, SHAKE, BACKED)
    first = replace(wall, panel=panel.material)
    return replace(house_of(first, *others, materials=materials, panels=(panel,)), **changes)  # type: ignore[arg-type]


def upright(wall: Wall, begin: Begin = Begin.LEFT, hem: float = 0) -> House:
    """Return a house with a wall of upright panels that cover 12 in."""
    return covered(wall, Panel("board", inches(12), inches(hem), begin))


def runs_of(found: TakeOff, panel: int) -> tuple[RunOnWall, ...]:
    """Return the pieces of one upright panel, from the head."""
    return next(course.runs for course in found.walls[0].courses if course.band.number == panel)


def trim_of(found: TakeOff, role: Role) -> dict[str, int]:
    """Return the trim of a role, its lengths by place."""
    return {piece.place.partition(": ")[2]: piece.length for piece in found.trim if piece.role is role}


def test_upright_panels_begin_in_the_starter_at_the_left_corner() -> None:
    """125 / 12 = 10.42: ten whole ones, and one ripped to 5 - 1/4 = 4 3/4 in; 96 - 2 x 1/4 = 95 1/2 in each."""
    found = take_off(upright(WALL))
    whole, last = found.required[:2]
    assert (whole.quantity, whole.length, whole.ref) == (10, inches(96), "north, panels 1 to 10 from the left")
    assert last.rips == (Ripped(inches("4.75"), inches("4.75"), Keeps.LIP),)
    assert {run.cut for course in found.walls[0].courses for run in course.runs} == {inches("95.5")}
    assert trim_of(found, Role.STARTER) == {"starter at its left corner": inches(96)}


def test_balanced_panels_are_ripped_at_both_corners() -> None:
    """125 = 10 x 12 + 5: two rips of 2 1/2 - 1/4 = 2 1/4 in, the left one keeps its hem, the right one its lip."""
    found = take_off(upright(WALL, Begin.BALANCED))
    rips = [rip for item in found.required for rip in item.rips]
    assert rips == [Ripped(inches("2.25"), inches("2.25"), keeps) for keeps in (Keeps.HEM, Keeps.LIP)]
    assert trim_of(found, Role.STARTER) == {}
    assert trim_of(found, Role.UTILITY) == {"the left end": inches("95.5"), "the right end": inches("95.5")}


def test_rips_too_narrow_take_half_a_panel_more() -> None:
    """121 = 10 x 12 + 1: two of 1/2 in would be slivers, so nine whole ones and two of 6 1/2 - 1/4 in."""
    found = take_off(upright(plain_wall(122, 96, left=post("a"), right=post("b")), Begin.BALANCED))
    assert [item.quantity for item in found.required[:3]] == [1, 9, 1]
    assert found.required[0].rips[0].left == inches("6.25")


def test_upright_panels_stop_at_an_opening() -> None:
    """A window from 30 to 70 in along, 36 to 76 in up: panel 4 (36 1/2 to 48 1/2) is 96 - 76 = 20 in and 36 in long."""
    found = take_off(upright(replace(WALL, openings=(SQUARE,))))
    assert [(run.start, run.length) for run in runs_of(found, 4)] == [
        (0, inches(20)), (inches(60), inches(36)),
    ]  # fmt: skip


@pytest.mark.parametrize(("panel", "edge", "height"), [(3, Edge.TOP, "5.25"), (6, Edge.BOTTOM, "9.75")])
def test_upright_panels_beside_an_opening_are_notched(panel: int, edge: Edge, height: str) -> None:
    """Panel 3 from 24 1/2 in: to 30 - 1/4 it is 5 1/4 in; panel 6 from 60 1/2 in: to 70 + 1/4 it is 9 3/4 in.

    Down from the head, the notch goes from 96 - 76 - 1/4 = 19 3/4 in to 96 - 36 + 1/4 = 60 1/4 in.
    """
    (run,) = runs_of(take_off(upright(replace(WALL, openings=(SQUARE,)))), panel)
    (noted,) = run.cut_outs
    cut = noted.cut_out
    assert (cut.edge, cut.height) == (edge, inches(height))
    assert (cut.start, cut.end) == (inches("19.75"), inches("60.25"))


def test_channel_stands_above_and_below_upright_panels() -> None:
    """Under the soffit 126 - 2 x 1/2 - 2 x 1/4 = 124 1/2 in; at the bottom between flanges of 1 1/4 in, 123 in."""
    assert trim_of(take_off(upright(WALL)), Role.CHANNEL) == {"the bottom": inches(123), "the top": inches("124.5")}


def test_upright_panels_in_a_gable() -> None:
    """20 ft, 6/12: panel 4 stands from 36 to 48 in, so at its longer side 24 in high, at the other 18.

    Square to the rake 1/4 in is 1/4 x root of (1 + (6/12)^2) = 0.28 in along it, in 16ths 5/16: 24 - 5/16 - 1/4. With
    a hem of 1 in beyond 48 in the long edge is 24 1/2 in. Panel 17 is the same, seen from the other side.
    """
    found = take_off(upright(plain_wall(outline=gable(inches(240), 0, inches(60)))))
    (left,), (right,) = runs_of(found, 4), runs_of(found, 17)
    assert left.cut == right.cut == inches("23.4375")
    assert left.left.end.slope is not None
    assert right.left.end.slope is not None
    assert (left.left.end.slope.long_edge, right.left.end.slope.long_edge) == (Edge.TOP, Edge.BOTTOM)
    assert (left.left.end.slope.leans, right.left.end.slope.leans) == (Side.LEFT, Side.RIGHT)
    (hemmed,) = runs_of(take_off(upright(plain_wall(outline=gable(inches(240), 0, inches(60))), hem=1)), 4)
    assert hemmed.cut == inches("23.9375")


@pytest.mark.parametrize("begin", list(Begin))
@pytest.mark.parametrize("opening", [None, SQUARE])
def test_upright_panels_cover_the_wall_between_pockets(begin: Begin, opening: Opening | None) -> None:
    """125 x 96 in less what lies in clearances at ripped sides, and the window with its clearance of 1/4 in a side."""
    found = take_off(upright(replace(WALL, openings=(opening,) if opening else ()), begin))
    clear = 1 if begin is Begin.LEFT else 2
    open_wall = (inches(125) - clear * inches("0.25")) * inches(96)
    window = inches("40.5") * inches(40) if opening else 0
    assert found.walls[0].net_area == open_wall - window


def test_an_upright_panel_longer_than_its_stock_is_refused() -> None:
    """It has no lap: 14 ft out of 12 ft 6 in is to be two walls with channel between."""
    with pytest.raises(Unplannable) as refused:
        take_off(upright(plain_wall(126, 168)))
    (problem,) = refused.value.problems
    assert (problem.code, problem.pointer) == ("taller_than_stock", "#/walls/0")


def test_a_strip_lower_than_an_upright_panel_is_wide_may_be_covered() -> None:
    """10 in high under panels that cover 12 in: lower than a course would be, but not than a panel."""
    assert take_off(upright(plain_wall(126, 10))).walls[0].courses


def test_too_many_upright_panels_are_refused() -> None:
    """A wall of 2,100 ft at a foot each: no more than 2,000 in one take-off, whatever its height."""
    with pytest.raises(Unplannable) as refused:
        take_off(upright(plain_wall(2100 * 12, 96)))
    assert [problem.code for problem in refused.value.problems] == ["too_many_courses"]


def test_a_panel_that_is_not_listed_is_refused() -> None:
    """What shows of it has to be said."""
    with pytest.raises(Unplannable) as refused:
        take_off(replace(upright(WALL), panels=()))
    assert [(p.code, p.pointer) for p in refused.value.problems] == [("unknown_panel", "#/walls/0/panel")]


def test_upright_panels_are_nailed_every_foot() -> None:
    """Ten of 96 in at 12 in, 8 + 1 each (residential code R703.11.1); the ripped one has lost its hem."""
    figures = {figure.name: figure.value for figure in take_off(upright(WALL)).figures}
    assert figures["nails for upright panels"] == 90


def test_an_upright_wall_is_drawn_as_it_stands() -> None:
    """Panel 1 goes from 1/2 to 12 1/2 in along; the drawing numbers all eleven and has no story pole of its own."""
    drawn = svg(draw_elevation(take_off(upright(WALL)).walls[0], Unit.IN))
    assert all(f">{number}</text>" in drawn for number in range(1, 12))


def test_rows_of_shakes_stand_on_their_own_exposure() -> None:
    """A gable of 12 ft by 4 ft in rows of 6 in over a wall in courses of 8: eight rows, and each its own material."""
    top = plain_wall(outline=gable(inches(144), 0, inches(48)), elevation=inches(96))
    found = take_off(covered(replace(top, id="gable"), Panel("shake-grey", inches(6)), plain_wall(144, 96)))
    rows = found.walls[0].courses
    assert [course.band.bottom for course in rows] == [inches(6 * row) for row in range(8)]
    # at 8/12 each row is shorter by 2 x 6 x 12/8 = 18 in: 144, 126, 108 ...
    assert [course.runs[0].length + 2 * (course.runs[0].start) for course in rows[:3]] == [inches(144)] * 3
    assert rows[0].runs[0].length - rows[1].runs[0].length == inches(18)
    assert {item.material for item in found.required if item.wall} == {"shake-grey", "panel-sand"}


def test_the_joints_of_rows_are_staggered() -> None:
    """12 ft of 48 in panels lapped 1 in is four pieces a row; joints of rows beside stand 10 in or more apart."""
    wall = plain_wall(144, 24)
    found = take_off(covered(wall, Panel("shake-grey", inches(6))))
    job = Job("", Unit.IN, found.house.materials, found.required, walls=found.planned_walls)
    plan = plan_job(job, lambda: 0.0)
    joints = [run.laps_at for part in plan.materials if part.material == "shake-grey" for run in part.runs]
    assert len(joints) == 4
    for below, above in pairwise(joints):
        assert min(abs(one - other) for one in below for other in above) >= inches(10)


def test_foam_keeps_the_slope_of_a_panel() -> None:
    """Nothing is furred behind foam (it fills the panel): neither under the sill nor behind the ripped top."""
    plain, backed = plain_wall(240, 99, WINDOW), Panel("panel-backed", inches(8))
    assert any(need.need is Need.FURRING for need in take_off(house_of(plain)).needs)
    found = take_off(covered(plain, backed))
    assert not any(need.need is Need.FURRING for need in found.needs)
    notes = [note for course in found.walls[0].courses for run in course.runs for n in run.cut_outs for note in n.notes]
    assert not any("furring" in note for note in notes)
