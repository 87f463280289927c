"""Houses for the benchmark of runs and laps: four walls, openings, gables and an annex, from a seed.

Proportions are common practice, no source: 8 in of panel to the weather, walls 18 to 44 ft and 10 to 16
courses high, one to four openings a wall. Stock comes in one to three of four lengths seen in print: 12'-6" (the
usual one, by a handbook of Habitat for Humanity International), 12'-1" (a table of an evaluation report), 16'-8"
and 20'-0" (contractors' pages).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from random import Random

from solver.categories import DEFAULTS, Category, LapEnds
from solver.job import Job, Wall
from solver.lengths import TICKS_PER_INCH, Unit
from solver.materials import Material, StockLength
from solver.required import CutOut, Edge, End, KeepClear, Meets, Required, Side, Slope

QUARTER = TICKS_PER_INCH // 4
EXPOSURE = 8 * TICKS_PER_INCH
LENGTHS = {"12-1": 145, "12-6": 150, "16-8": 200, "20-0": 240}
"""Panel lengths in inches."""
CHANNEL = End(Meets.CHANNEL)


@dataclass(frozen=True, slots=True)
class Opening:
    """A window or door: its sides along the wall, its sill and head above the first course, all in ticks."""

    left: int
    right: int
    sill: int
    head: int


@dataclass(frozen=True, slots=True)
class Face:
    """A wall to be covered: width in ticks, its courses, and its openings from left to right."""

    id: str
    width: int
    first_course: int
    courses: int
    openings: tuple[Opening, ...]


def house(seed: int, ends: LapEnds = LapEnds.FACTORY) -> Job:
    """Return house number ``seed``: the same one every time."""
    dice = Random(seed)
    material = _material(dice, ends)
    faces = _faces(dice)
    items = [item for face in faces for item in _courses(face)]
    for gable in (faces[1], faces[3]):
        items += _gable(gable, dice.choice((4, 5, 6, 8)))
    walls = tuple(Wall(face.id, dice.choice((Side.LEFT, Side.RIGHT, None))) for face in faces)
    required = tuple(replace(item, mark=str(number)) for number, item in enumerate(items, 1))
    return Job(f"House {seed}", Unit.IN, (material,), required, walls=walls)


def terrace(walls: int, courses: int) -> Job:
    """Return so many long walls of so many courses each, out of panels of one length: the same ones every time."""
    dice = Random(0)
    faces = [_face(dice, f"wall {n}", _quarters(dice, 26 * 12, 44 * 12), 1, courses) for n in range(1, walls + 1)]
    stock = (StockLength("12-6", LENGTHS["12-6"] * TICKS_PER_INCH),)
    material = Material("panel", Category.SIDING, stock, DEFAULTS[Category.SIDING])
    items = [item for face in faces for item in _courses(face)]
    required = tuple(replace(item, mark=str(number)) for number, item in enumerate(items, 1))
    return Job("Terrace", Unit.IN, (material,), required, walls=tuple(Wall(face.id) for face in faces))


def without_placement(job: Job) -> Job:
    """Return the same house with no rule about where laps fall, but the shortest piece kept."""
    free = [
        replace(m, settings=replace(m.settings, lap_spacing=0, lap_repeat=0, in_line_within=0)) for m in job.materials
    ]
    return replace(job, materials=tuple(free), required=tuple(replace(r, keep_clear=()) for r in job.required))


def _material(dice: Random, ends: LapEnds) -> Material:
    names = sorted(dice.sample(sorted(LENGTHS), dice.choice((1, 1, 2, 3))))
    if dice.random() < 0.4 and len(names) == 1:
        names = ["12-6"]
    priced = dice.random() < 0.5
    stock = tuple(
        StockLength(name, LENGTHS[name] * TICKS_PER_INCH, price=_price(dice, name) if priced else None)
        for name in names
    )
    return Material("panel", Category.SIDING, stock, replace(DEFAULTS[Category.SIDING], lap_ends=ends))


def _price(dice: Random, name: str) -> Decimal:
    return (Decimal(LENGTHS[name]) * Decimal(dice.randint(62, 70)) / 1000).quantize(Decimal("0.01"))


def _faces(dice: Random) -> list[Face]:
    courses = dice.randint(10, 16)
    long, short = _quarters(dice, 26 * 12, 44 * 12), _quarters(dice, 18 * 12, 30 * 12)
    faces = [
        _face(dice, name, width, 1, courses)
        for name, width in zip(("north", "east", "south", "west"), (long, short, long, short), strict=True)
    ]
    if dice.random() < 0.5:
        first = dice.randint(2, 4)
        faces.append(_face(dice, "annex", _quarters(dice, 18 * 12, 24 * 12), first, max(10, courses - first + 1)))
    return faces


def _quarters(dice: Random, low: int, high: int) -> int:
    return dice.randint(low * 4, high * 4) * QUARTER


def _face(dice: Random, name: str, width: int, first_course: int, courses: int) -> Face:
    wanted = dice.randint(1, 4)
    wide = dice.random() < 0.06
    bay = width // wanted // QUARTER * QUARTER
    openings = [_opening(dice, place * bay, bay, courses * EXPOSURE) for place in range(wanted)]
    if wide:
        most = (width - 192 * TICKS_PER_INCH) // QUARTER - 30
        left = dice.randint(30 * 4, most) * QUARTER if width > 260 * TICKS_PER_INCH else 0
        openings = [Opening(left, left + 192 * TICKS_PER_INCH, 0, 80 * TICKS_PER_INCH)] if left else openings
    return Face(name, width, first_course, courses, tuple(openings))


def _opening(dice: Random, left: int, bay: int, height: int) -> Opening:
    door = dice.random() < 0.25
    most = bay // TICKS_PER_INCH - 16
    width = min(most, dice.choice((38, 38, 74) if door else (28, 34, 40, 52, 66))) * TICKS_PER_INCH
    room = (bay - width) // QUARTER
    start = left + dice.randint(min(32, room // 2), max(room - 32, room // 2)) * QUARTER
    sill = 0 if door else dice.randint(96, 160) * QUARTER
    most = height - sill - 10 * TICKS_PER_INCH
    tall = 84 * TICKS_PER_INCH if door else min(dice.randint(36, 56) * TICKS_PER_INCH, most)
    return Opening(start, start + width, sill, min(sill + tall, height - 4 * TICKS_PER_INCH))


def _courses(face: Face) -> Iterator[Required]:
    """Yield one item for each stretch of each course, merged where courses are alike."""
    waiting: list[Required] = []
    for number in range(face.courses):
        here = [_stretch(face, number, left, right) for left, right in _stretches(face, number)]
        alike = len(here) == len(waiting) and all(map(_continues, waiting, here))
        if alike:
            waiting = [replace(item, courses=item.courses + 1) for item in waiting]
        else:
            yield from waiting
            waiting = here
    yield from waiting


def _continues(below: Required, above: Required) -> bool:
    plain = not (below.keep_clear or above.keep_clear or below.cut_outs or above.cut_outs)
    return plain and (below.start, below.length) == (above.start, above.length)


def _stretches(face: Face, number: int) -> Iterator[tuple[int, int]]:
    left = 0
    for opening in face.openings:
        if opening.sill <= number * EXPOSURE and opening.head >= (number + 1) * EXPOSURE:
            yield left, opening.left
            left = opening.right
    yield left, face.width


def _stretch(face: Face, number: int, left: int, right: int) -> Required:
    course = face.first_course + number
    inside = [o for o in face.openings if left <= o.left and o.right <= right]
    clear = tuple(KeepClear(o.left, o.right, course, course) for o in inside if _near(o, number))
    cut_outs = tuple(cut for o in inside for cut in _cut_out(o, number, course))
    return Required(
        "", "panel", right - left, left_end=CHANNEL, right_end=CHANNEL, wall=face.id, start=left, first_course=course,
        keep_clear=clear, cut_outs=cut_outs,
    )  # fmt: skip


def _near(opening: Opening, number: int) -> bool:
    """Whether the course passes directly under or over the opening."""
    bottom, top = number * EXPOSURE, (number + 1) * EXPOSURE
    under = bottom < opening.sill <= top
    over = bottom <= opening.head < top
    return under or over


def _cut_out(opening: Opening, number: int, course: int) -> Iterator[CutOut]:
    bottom, top = number * EXPOSURE, (number + 1) * EXPOSURE
    if bottom < opening.sill < top:
        yield CutOut(opening.left, opening.right, Edge.TOP, top - opening.sill, course)
    if bottom < opening.head < top:
        yield CutOut(opening.left, opening.right, Edge.BOTTOM, opening.head - bottom, course)


def _gable(face: Face, rise: int) -> Iterator[Required]:
    """Yield the courses of the gable above a wall: each shorter by its rake on both sides."""
    rake = EXPOSURE * 12 // rise // QUARTER * QUARTER
    pitch = Fraction(rise, 12)
    left_end = End(Meets.CHANNEL, Slope(pitch, Side.RIGHT, Edge.BOTTOM))
    right_end = End(Meets.CHANNEL, Slope(pitch, Side.LEFT, Edge.BOTTOM))
    top = face.first_course + face.courses
    for number in range(face.width // (2 * rake)):
        length = face.width - 2 * rake * number
        if length >= 12 * TICKS_PER_INCH:
            yield Required(
                "", "panel", length, left_end=left_end, right_end=right_end, wall=face.id, start=rake * number,
                first_course=top + number,
            )  # fmt: skip
