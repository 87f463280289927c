"""Figures of a wall and of the house: courses, areas by the policies in print, pieces by length, nails.

Areas are square feet as exact fractions, by named policies that disagree in print: a cross-check, of which the plan
by pieces uses nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil

from solver.categories import Hangs
from solver.lengths import TICKS_PER_INCH, say, told
from solver.required import Keeps
from solver.takeoff import rules
from solver.takeoff.answer import (
    Course,
    Figure,
    RunOnWall,
    SoffitRow,
    Trim,
    WallTakeOff,
    count_of,
    decimal,
    say_area,
    square_feet,
)
from solver.takeoff.ends import gap_along, lost_in_slope
from solver.takeoff.floors import floor_figures
from solver.takeoff.geometry import twice_area
from solver.takeoff.measured import House, Opening, Role, Wall
from solver.takeoff.rules import Deduct, GableRule, Waste
from solver.takeoff.survey import Survey, ceil_div

SQUARE = 100
"""Square feet in a square."""

GABLE_SOURCES: Mapping[GableRule, str] = {
    GableRule.EXACT: "half of width times height: geometry; a lumber yard's catalogue, a dealer's pages",
    GableRule.FOOT: "half of width times (height and {1 ft}): a maker's guide",
    GableRule.THREE_QUARTERS: "width times height times 0.75: measuring pages of two makers and an installer",
    GableRule.THIRD: "half of width times height, and a third: a dealer's measuring page",
    GableRule.FIFTH: "half of width times height, and 20 %: an encyclopedia of house building",
}
"""Five rules in print for the area of a gable; they conflict, so the answer names the one used."""

DEDUCT_SOURCES: Mapping[Deduct, str] = {
    Deduct.ALL: "all openings taken off, then waste added: a lumber yard's catalogue",
    Deduct.LARGE: "only large openings taken off: measuring pages of three makers and an installer",
    Deduct.HALF: "half of the openings taken off: an encyclopedia of house building",
    Deduct.NONE: "no opening taken off, which is 10 to 15 % waste built in: a how-to magazine",
}
"""Four policies in print for openings; they conflict, so the answer names the one used."""

WASTE_SOURCES: Mapping[Waste, str] = {
    Waste.MULTIPLY: "area times (1 + waste): a maker's guide, 10 % on large projects",
    Waste.DIVIDE: "area / (1 - waste): an Army engineer course, whose figure is higher",
}
"""Two ways to add for waste; they conflict, so the answer names the one used."""


def gable_area(width: Fraction, height: Fraction, rule: GableRule) -> Fraction:
    """Return the area reckoned for a gable, in square feet; width and height in feet."""
    half = width * height / 2
    return {
        GableRule.EXACT: half,
        GableRule.FOOT: width * (height + 1) / 2,
        GableRule.THREE_QUARTERS: half * Fraction(3, 2),
        GableRule.THIRD: half * Fraction(4, 3),
        GableRule.FIFTH: half * Fraction(6, 5),
    }[rule]


def openings_off(areas: list[Fraction], policy: Deduct, large: Fraction) -> Fraction:
    """Return what is taken off for openings of these areas; ``large`` is the square feet from which one counts."""
    return {
        Deduct.ALL: sum(areas, Fraction(0)),
        Deduct.LARGE: sum((area for area in areas if area >= large), Fraction(0)),
        Deduct.HALF: sum(areas, Fraction(0)) / 2,
        Deduct.NONE: Fraction(0),
    }[policy]


def with_waste(area: Fraction, percent: Fraction, way: Waste) -> Fraction:
    """Return the area with waste added, in square feet."""
    share = percent / 100
    return area * (1 + share) if way is Waste.MULTIPLY else area / (1 - share)


def pieces_for(area: Fraction, exposure: int, length: int) -> int:
    """Return how many sticks cover ``area`` square feet by their face alone (laps not taken off), rounded up."""
    return ceil(area / square_feet(exposure * length))


def wall_area(house: House, wall: Wall) -> Fraction:
    """Return a wall's area before openings, in square feet; a gable's top by the rule in the settings."""
    rule = house.settings.gable
    whole = square_feet(Fraction(abs(twice_area(wall.outline)), 2))
    triangle = _gable_of(wall)
    if rule is GableRule.EXACT or triangle is None:
        return whole
    width, height = triangle
    return whole - width * height / 2 + gable_area(width, height, rule)


def _gable_of(wall: Wall) -> tuple[Fraction, Fraction] | None:
    """Width and height, in feet, of the triangle on top of a wall whose two highest slopes meet in one peak."""
    foot = 12 * TICKS_PER_INCH
    peak = max(wall.outline, key=lambda point: point.y)
    place = wall.outline.index(peak)
    before, after = wall.outline[place - 1], wall.outline[(place + 1) % len(wall.outline)]
    if before.y != after.y or min(before.x, after.x) >= peak.x or peak.x >= max(before.x, after.x):
        return None
    return Fraction(abs(before.x - after.x), foot), Fraction(peak.y - before.y, foot)


def opening_area(opening: Opening) -> Fraction:
    """Return an opening's area in square feet, by its measured size."""
    return square_feet(opening.width * opening.height)


def area_figures(house: House, stock: tuple[tuple[str, int, int | None], ...]) -> Iterator[Figure]:
    """Yield gross area, openings off, waste, and for each stock (id, length, carton) the sticks and cartons."""
    settings = house.settings
    gross = sum((wall_area(house, wall) for wall in house.walls), Fraction(0))
    openings = [opening_area(opening) for wall in house.walls for opening in wall.openings]
    large = settings.large / rules.SQUARE_METRES if house.unit.metric else settings.large
    off = openings_off(openings, settings.deduct, large)
    total = with_waste(gross - off, settings.waste_percent, settings.waste)
    yield _area(house, "walls", gross, "all outlines", told(GABLE_SOURCES[settings.gable], house.unit))
    yield _area(house, "openings off", off, f"policy {settings.deduct}", DEDUCT_SOURCES[settings.deduct])
    waste = f"with {decimal(settings.waste_percent)} % waste ({settings.waste})"
    words = f"{say_area(gross, house.unit)} less {say_area(off, house.unit)}, {waste}"
    yield _area(house, "to order by area", total, words, WASTE_SOURCES[settings.waste])
    squares = total / SQUARE
    each = f"{say_area(total, house.unit)} / {say_area(Fraction(SQUARE), house.unit)} = {decimal(squares)} squares"
    yield Figure("squares", squares, each, length=False)
    for name, length, carton in stock:
        yield _sticks(house, total, name, length, carton)


def coursed(house: House, walls: Sequence[WallTakeOff]) -> Figure:
    """Return the area by whole courses: courses x exposure x width of each wall, openings and slopes not taken off."""
    parts = [(taken.wall.id, len(taken.courses), _along(taken)) for taken in walls]
    area = sum((square_feet(count * house.exposure * width) for _, count, width in parts), Fraction(0))
    each = (
        f"{name} {count} x {say(house.exposure, house.unit)} x {say(width, house.unit)}" for name, count, width in parts
    )
    return _area(
        house, "by whole courses", area, " + ".join(each), "a dealer's measuring page: courses x exposure x perimeter"
    )


def by_length(
    house: House, walls: Sequence[WallTakeOff], stock: Sequence[tuple[str, int, int | None]]
) -> Iterator[Figure]:
    """Yield for each stock (id, length, carton) the fewest sticks of it alone that the pieces' length needs."""
    total = sum(run.cut for taken in walls for course in taken.courses for run in course.runs)
    for name, length, _ in stock:
        count = -(-total // length)
        text = f"{say(total, house.unit)} of pieces / {say(length, house.unit)} = {decimal(Fraction(total, length))}"
        yield count_of(f"panels of {name} by length", count, f"{text}, rounded up = {count}; laps are not in it")


def _along(taken: WallTakeOff) -> int:
    """How far a wall's courses reach at most: along it, or up it where its panels hang upright."""
    places = [point.y if taken.hangs is Hangs.COLUMNS else point.x for point in taken.wall.outline]
    return max(places) - min(places)


def _area(house: House, name: str, area: Fraction, how: str, source: str) -> Figure:
    value = area * rules.SQUARE_METRES if house.unit.metric else area
    return Figure(name, value, f"{how} = {say_area(area, house.unit)}", source, length=False)


def _sticks(house: House, total: Fraction, name: str, length: int, carton: int | None) -> Figure:
    each = square_feet(house.exposure * length)
    count = pieces_for(total, house.exposure, length)
    face = f"{say(house.exposure, house.unit)} x {say(length, house.unit)} = {say_area(each, house.unit)}"
    words = f"{say_area(total, house.unit)} / ({face}) = {count}"
    if carton:
        words += f", {-(-count // carton)} cartons of {carton}"
    return count_of(f"panels of {name} by area", count, f"{words}; laps are not in it: the plan by pieces is the order")


def fasteners(
    house: House, walls: Sequence[WallTakeOff], soffits: Sequence[SoffitRow], trim: Sequence[Trim]
) -> Iterator[Figure]:
    """Yield nails for panels, trim and soffit.

    One more than its spacings for each run and piece; a course that has lost its hem has none, a post has two flanges.
    """
    settings = house.settings
    upright = [taken for taken in walls if taken.hangs is Hangs.COLUMNS]
    level = [taken for taken in walls if taken.hangs is Hangs.COURSES]
    yield _nails(house, "nails for panels", _hemmed(level), settings.nail_spacing, rules.NAIL_SPACING.source)
    if upright:
        spacing = rules.UPRIGHT_NAILS.in_job(house.unit)
        yield _nails(house, "nails for upright panels", _hemmed(upright), spacing, rules.UPRIGHT_NAILS.source)
    lengths = [piece.length for piece in trim for _ in range(piece.quantity * _flanges(piece))]
    source = told(rules.POST_NAILS.source, house.unit)
    yield _nails(house, "nails for trim", lengths, house.settings.trim_nail_spacing, source)
    if soffits:
        yield _soffit_nails(house, soffits)


def _hemmed(walls: Sequence[WallTakeOff]) -> list[int]:
    """The lengths of all runs that have their hem."""
    runs = (run for wall in walls for course in wall.courses for run in course.runs)
    return [run.length for run in runs if not _without_hem(run)]


def _without_hem(run: RunOnWall) -> bool:
    return any(rip.keeps is Keeps.LIP for rip in run.rips)


def _flanges(piece: Trim) -> int:
    return 2 if piece.role in (Role.OUTSIDE_POST, Role.INSIDE_POST) else 1


def _soffit_nails(house: House, soffits: Sequence[SoffitRow]) -> Figure:
    """One at each end of a panel and one at each line of nailers between."""
    each = [(row, 1 + ceil_div(row.span, house.settings.soffit_span)) for row in soffits]
    count = sum(row.quantity * nails for row, nails in each)
    parts = " + ".join(f"{row.quantity} panels x {nails}" for row, nails in each)
    text = f"{parts}, one at each end and at each nailer line = {count}"
    return count_of("nails for soffit", count, text, rules.SOFFIT_CODE)


def _nails(house: House, name: str, lengths: Sequence[int], spacing: int, source: str) -> Figure:
    count = sum(ceil_div(length, spacing) + 1 for length in lengths)
    total = say(sum(lengths), house.unit)
    text = f"{len(lengths)} stretches, {total} in all, every {say(spacing, house.unit)} and one more each = {count}"
    return count_of(name, count, text, source)


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
    exact, count = Fraction(high - low, site.house.exposure), len(courses)
    words = f"{say(high - low, unit)} / {say(site.house.exposure, unit)} = {decimal(exact)}"
    rounded = f"{words}, rounded up" if count >= exact else f"{words}, less what lies in pockets and clearances"
    return count_of("courses", count, f"{rounded} = {count}", "a dealer's measuring page")


def house_figures(
    house: House, walls: Sequence[WallTakeOff], soffits: Sequence[SoffitRow], trim: Sequence[Trim]
) -> Iterator[Figure]:
    """Yield the cross-check by area, with the policies used, panel by panel, and the nails."""
    covers = {taken.wall.panel if house.panel(taken.wall) else None for taken in walls}
    for name in sorted(covers, key=lambda name: name or ""):
        of = [taken for taken in walls if (taken.wall.panel if house.panel(taken.wall) else None) == name]
        yield from _of_panel(house.for_wall(of[0].wall), of, f"{name}: " if name else "")
    yield from fasteners(house, walls, soffits, trim)


def _of_panel(house: House, walls: Sequence[WallTakeOff], whose: str) -> Iterator[Figure]:
    panel = house.material_for(Role.PANEL)
    if panel is None:
        return
    stock = tuple((row.id, row.length, row.carton) for row in panel.stock)
    measured = replace(house, walls=tuple(taken.wall for taken in walls))
    figures = (coursed(house, walls), *area_figures(measured, stock), *by_length(house, walls, stock))
    yield from (replace(figure, name=f"{whose}{figure.name}") for figure in figures)
