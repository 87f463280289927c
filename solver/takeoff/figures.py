"""The figures of a wall and of the house that are not lengths of pieces: courses, slopes, floors, area, nails."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from solver.lengths import say
from solver.takeoff.answer import Course, Trim, WallTakeOff
from solver.takeoff.area import area_figures, by_length, coursed
from solver.takeoff.fasteners import fasteners
from solver.takeoff.floors import floor_figures
from solver.takeoff.measured import House, Role
from solver.takeoff.slopes import gap_along, lost_in_slope
from solver.takeoff.survey import Survey
from solver.takeoff.words import Figure, count_of, decimal


def wall_figures(site: Survey, courses: Sequence[Course], gap: int) -> Iterator[Figure]:
    """Yield how many courses a wall has, where they begin over its floors, and what its slopes take."""
    yield _courses(site, courses)
    yield from floor_figures(site)
    for pitch in sorted({edge.pitch for edge in site.edges if edge.pitch and not edge.level}):
        yield gap_along(gap, pitch, site.house.unit)
        yield lost_in_slope(site.house.exposure, pitch, site.house.unit)


def _courses(site: Survey, courses: Sequence[Course]) -> Figure:
    unit = site.house.unit
    low, high = courses[0].band.bottom, max(point.y for point in site.wall.outline)
    exact = Fraction(high - low, site.house.exposure)
    text = f"{say(high - low, unit)} / {say(site.house.exposure, unit)} = {decimal(exact)}, rounded up"
    return count_of("courses", len(site.bands), f"{text} = {len(site.bands)}", "a dealer's measuring page")


def house_figures(house: House, walls: Sequence[WallTakeOff], trim: Sequence[Trim]) -> Iterator[Figure]:
    """Yield the cross-check by area, with the policies used, and the nails."""
    panel = house.material_for(Role.PANEL)
    if walls and panel:
        yield coursed(house, walls)
        stock = tuple((row.id, row.length, row.carton) for row in panel.stock)
        yield from area_figures(house, stock)
        yield from by_length(house, walls, stock)
    yield from fasteners(house, walls, trim)
