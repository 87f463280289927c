"""The whole take-off, as a table of contents."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from solver.job import Wall as PlannedWall
from solver.materials import Material
from solver.required import Required
from solver.takeoff.answer import Course, TakeOff, WallTakeOff
from solver.takeoff.ends import allow_for
from solver.takeoff.items import panel_items
from solver.takeoff.levels import bands_of, blocks_of
from solver.takeoff.measured import House, Role, Wall
from solver.takeoff.outline import edges_of
from solver.takeoff.runs import course_in


def take_off(house: House) -> TakeOff:
    """Return the items, trim, figures and elevations of a measured house."""
    walls = tuple(_wall(house, wall) for wall in house.walls)
    required = tuple(item for taken in walls for item in _panels(house, taken))
    planned = tuple(PlannedWall(wall.id, wall.viewed_from) for wall in house.walls)
    return TakeOff(house.name, house.materials, required, planned, walls, (), (), ())


def _wall(house: House, wall: Wall) -> WallTakeOff:
    courses = tuple(_courses(house, wall))
    return WallTakeOff(wall, courses, (), sum((run.area for course in courses for run in course.runs), Fraction(0)))


def _courses(house: House, wall: Wall) -> Iterator[Course]:
    edges = edges_of(wall)
    blocks = blocks_of(house, wall, edges)
    allow = allow_for(house.settings, end_gap(house, Role.PANEL), house.unit, wall.outline)
    for band in bands_of(house, wall, edges):
        yield course_in(band, edges, blocks, allow)


def _panels(house: House, taken: WallTakeOff) -> tuple[Required, ...]:
    return panel_items(taken.wall.id, house.uses[Role.PANEL], taken.courses)


def material_for(house: House, role: Role) -> Material | None:
    """Return the material used for a role, or None where the house names none."""
    return next((m for m in house.materials if m.id == house.uses.get(role)), None)


def end_gap(house: House, role: Role) -> int:
    """Return the largest end gap of the material's sticks, in ticks; 0 where the role has no material."""
    material = material_for(house, role)
    if material is None:
        return 0
    return max((row.end_gap or material.settings.end_gap for row in material.stock), default=material.settings.end_gap)
