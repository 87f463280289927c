"""From a tape measure to the list of pieces: measured walls, ceilings and eaves become items to plan.

``take_off`` takes a ``House`` and returns a ``TakeOff``: items with their walls, trim, figures that carry their
arithmetic in words, and what is needed to draw the elevation. Nothing here plans, draws or reads a clock; numbers
that are rules of the trade live in ``rules``, ``cold`` and ``estimates`` with their sources.

This page is the table of contents. Measurements that can't be taken off are refused first. Then gaps and laps are
set for the temperature, each wall is surveyed and its courses become runs and panel items, then the ceilings and
eaves, then the trim; each piece with a material is an item to plan. Figures and notices come last.

A wall is covered with the panel in use or with one of its own: in courses, in rows of short panels, or upright.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from solver.allowances import of_pieces
from solver.categories import Hangs
from solver.demand import longest_stick
from solver.job import Wall as PlannedWall
from solver.materials import WATER, Material, cautions_for
from solver.required import Required
from solver.takeoff.answer import SoffitRow, TakeOff, Trim, WallTakeOff
from solver.takeoff.cold import for_temperature, gap_rules, lap_rules
from solver.takeoff.columns import in_columns, refuse_too_tall
from solver.takeoff.courses import course_in
from solver.takeoff.ends import allow_for
from solver.takeoff.estimates import house_figures, wall_figures
from solver.takeoff.floors import finishes
from solver.takeoff.items import column_items, panel_items, soffit_items, trim_items
from solver.takeoff.measured import House, Role
from solver.takeoff.needs import goods, needs
from solver.takeoff.notices import notices, starter_heights
from solver.takeoff.pole import HousePole, house_pole
from solver.takeoff.refusals import refuse_unmeasurable
from solver.takeoff.rules import UsedRule, rules_used
from solver.takeoff.soffits import ceiling_row, ceiling_trim, eave_rows, eave_trim, mitre_trim
from solver.takeoff.survey import Survey, survey
from solver.takeoff.trim import channels, edgings, posts, starters


def take_off(house: House) -> TakeOff:
    """Return the items, trim, figures and elevations of a measured house.

    Raises ``Unplannable`` with every problem of the measurements at once.
    """
    refuse_unmeasurable(house)
    house = replace(house, materials=for_temperature(house.materials, house.settings, house.unit))
    sites = tuple(survey(house, wall) for wall in house.walls)
    walls = tuple(map(_wall, sites))
    refuse_too_tall(sites, walls)
    soffits = tuple(_soffits(house))
    trim = tuple(piece for piece in _trim(house, sites, soffits) if piece.role not in house.without)
    figures = tuple(house_figures(house, walls, soffits, trim))
    needed = tuple(needs(house, walls, trim, figures))
    return TakeOff(
        house,
        tuple(_items(house, walls, soffits, trim)),
        tuple(PlannedWall(wall.id, wall.viewed_from) for wall in house.walls),
        walls,
        soffits,
        trim,
        starter_heights(house) if house.walls else (),
        figures,
        tuple(notices(house, sites, walls, soffits, trim)),
        tuple(_rules(house)),
        (*((WATER,) if house.walls else ()), *cautions_for(house.materials, house.unit)),
        _pole(sites, walls),
        needed,
        tuple(goods(house, needed, soffits, trim)),
    )


def _rules(house: House) -> Iterator[UsedRule]:
    yield from rules_used(house.settings, house.unit)
    yield from gap_rules(house.unit)
    if panel := house.material_for(Role.PANEL):
        yield from lap_rules(panel, house.unit)


def _pole(sites: tuple[Survey, ...], walls: tuple[WallTakeOff, ...]) -> HousePole | None:
    if not sites:
        return None
    numbered = [
        (taken.wall.id, [(course.band.bottom + taken.wall.elevation, course.band.number) for course in taken.courses])
        for taken in walls
        if taken.hangs is Hangs.COURSES
    ]
    return house_pole(sites, numbered, sites[0].house.unit)


def _wall(site: Survey) -> WallTakeOff:
    house, wall = site.house, site.wall
    if house.hangs(wall) is Hangs.COLUMNS:
        return in_columns(site)
    allow = allow_for(house, end_gap(house.material_for(Role.PANEL)), wall.outline)
    found = (course_in(band, site.edges, site.blocks, allow) for band in site.bands)
    courses = tuple(course for course in found if course.runs or course.left_out)
    ways = tuple(way for floor in site.floors for way in finishes(site, floor))
    area = sum((run.area for course in courses for run in course.runs), Fraction(0))
    return WallTakeOff(wall, site.line, courses, tuple(wall_figures(site, courses, allow.gap)), ways, area)


def end_gap(material: Material | None) -> int:
    """Return the largest end gap of a material's sticks, in ticks, as a run uses it; 0 without a material."""
    return of_pieces(material).end_gap if material else 0


def longest(material: Material | None) -> int:
    """Return a material's longest stick that can be had, in ticks; 0 where there is none."""
    return longest_stick(material) if material else 0


def _soffits(house: House) -> Iterator[SoffitRow]:
    panel = house.material_for(Role.SOFFIT)
    for ceiling in house.ceilings:
        yield ceiling_row(house, ceiling, longest(panel), end_gap(panel))
    for eave in house.eaves:
        yield from eave_rows(house, eave)


def _trim(house: House, sites: tuple[Survey, ...], soffits: tuple[SoffitRow, ...]) -> Iterator[Trim]:
    for site in sites:
        yield from starters(site)
        yield from channels(site)
        yield from edgings(site)
    yield from posts(sites)
    for ceiling, row in zip(house.ceilings, soffits, strict=False):
        yield from ceiling_trim(house, ceiling, row)
    for eave in house.eaves:
        yield from eave_trim(house, eave)
    yield from mitre_trim(house)


def _panels(house: House, taken: WallTakeOff) -> tuple[Required, ...]:
    material = house.for_wall(taken.wall).uses[Role.PANEL]
    listed = column_items if taken.hangs is Hangs.COLUMNS else panel_items
    return listed(taken.wall.id, material, taken.courses)


def _items(
    house: House, walls: tuple[WallTakeOff, ...], soffits: tuple[SoffitRow, ...], trim: tuple[Trim, ...]
) -> Iterator[Required]:
    for taken in walls:
        yield from _panels(house, taken)
    yield from soffit_items(house, soffits)
    yield from trim_items(house, trim)


__all__ = ["House", "TakeOff", "take_off"]
