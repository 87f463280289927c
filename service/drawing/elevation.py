"""A measured wall drawn to scale: its elevation, and the story pole that is held against it.

The elevation has courses, runs, openings and cut-outs with dimensions; the pole has courses on one side, sills and
heads on the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.drawing.drafting import Box, Stretch, chain, hatched
from service.drawing.lettering import clean, fitted, width_of
from service.drawing.pattern import WIDTH
from service.drawing.shapes import (
    BOLD,
    OUTLINE,
    THIN,
    Anchor,
    Drawing,
    Line,
    Segment,
    Shape,
    Strokes,
    Text,
    box,
    rectangle,
)
from solver.categories import Hangs
from solver.lengths import Unit, say
from solver.takeoff.answer import Course, RunOnWall, WallTakeOff
from solver.takeoff.geometry import Exact
from solver.takeoff.measured import Opening, Wall
from solver.takeoff.pole import HousePole

_WIDTH, _HEIGHT, _TOP = 90.0, 230.0, 16.0
_POLE, _BROAD = 42.0, 6.0
_APART = 3.0


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on the pole: its height above the starter line, in ticks, and what it stands for."""

    height: int
    text: str


def draw_story_pole(taken: WallTakeOff, unit: Unit) -> Drawing:
    """Return a wall's pole; heights are above the lower edge of its first course."""
    base = taken.courses[0].band.bottom
    courses = [Mark(course.band.bottom - base, f"course {course.band.number}") for course in taken.courses]
    title = f"Story pole of wall {clean(taken.wall.id)}"
    return _pole(title, "Heights above the lip of course 1.", courses, [*_others(taken, base)], unit)


def draw_house_pole(pole: HousePole, unit: Unit) -> Drawing:
    """Return the house's pole: the courses of all walls on its left, floors, sills, heads and tops on its right."""
    courses = [Mark(course.height, clean(course.text)) for course in pole.courses]
    others = [Mark(mark.height, clean(mark.text)) for mark in pole.marks]
    heading = "Heights above the house's level line; each wall with the number of its course there."
    return _pole("Story pole of the house", heading, courses, others, unit)


def _pole(title: str, heading: str, courses: Sequence[Mark], others: Sequence[Mark], unit: Unit) -> Drawing:
    others = sorted(others, key=lambda mark: mark.height)
    low, high = (pick(mark.height for mark in (*courses, *others)) for pick in (min, max))
    scale = max(1, high - low) / (_HEIGHT - 8)
    foot = _TOP + (high - low) / scale
    shapes: list[Shape] = [*_pole_heading(title, heading), box(_POLE, _TOP - 2, _BROAD, foot - _TOP + 4, OUTLINE)]
    for mark in courses:
        shapes += _left(mark, foot - (mark.height - low) / scale, unit)
    shapes += _right(others, [foot - (mark.height - low) / scale for mark in others], unit)
    return Drawing(title, _pole_in_words(courses, others, unit), _WIDTH, foot + 5, tuple(shapes))


def _pole_heading(title: str, heading: str) -> Iterator[Shape]:
    yield Text(0, 5, fitted(title, 4, _WIDTH), 4, Anchor.START, bold=True)
    yield Text(0, 9.5, fitted(heading, 2.4, _WIDTH), 2.4, Anchor.START)


def _others(taken: WallTakeOff, base: int) -> Iterator[Mark]:
    for opening in taken.wall.openings:
        yield Mark(opening.bottom - base, f"sill of {clean(opening.id)}")
        yield Mark(opening.top - base, f"head of {clean(opening.id)}")
    for height in {point.y for point in taken.wall.outline if point.y > base}:
        yield Mark(height - base, "corner of the outline")


def _left(mark: Mark, y: float, unit: Unit) -> Iterator[Shape]:
    yield Strokes((((_POLE, y), (_POLE + _BROAD / 2, y)),), BOLD)
    words = fitted(f"{mark.text}: {say(mark.height, unit)}", 2.3, _POLE - 1.5)
    yield Text(_POLE - 1.5, y + 0.8, words, 2.3, Anchor.END)


def _right(marks: Sequence[Mark], places: Sequence[float], unit: Unit) -> Iterator[Shape]:
    """Yield sills and heads, their words kept apart from one another, each on a leader from its mark."""
    free = float("inf")
    edge = _POLE + _BROAD
    for mark, y in zip(marks, places, strict=True):
        at = min(y, free)
        free = at - _APART
        yield Strokes((((_POLE + _BROAD / 2, y), (edge, y)),), BOLD)
        yield Strokes((((edge, y), (edge + 4, at)),), THIN)
        yield Text(edge + 4.8, at + 0.8, f"{say(mark.height, unit)}: {mark.text}", 2.3, Anchor.START)


def _pole_in_words(courses: Sequence[Mark], others: Sequence[Mark], unit: Unit) -> str:
    words = (f"{mark.text} at {say(mark.height, unit)}" for mark in (*courses, *others))
    return f"{'; '.join(words)}."


_LEFT, _RIGHT, _TOP = 10.0, 22.0, 14.0
_TALLEST = 200.0
_SMALL, _LEAST = 2.0, 1.3
_SEEN = "Seen from outside, to scale. Figures in the runs are clear lengths, pocket back to pocket back."
_UPRIGHT = "Seen from outside, to scale. Upright panels are numbered from the left."
_UNFINISHED = "Seen from outside, to scale. The courses follow once nothing is missing."


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a wall lies on paper: ticks per millimetre, the wall's left end and its highest point."""

    ticks: float
    left: int
    high: int

    def x(self, ticks: Exact) -> float:
        """Return where a place along the wall lies on paper."""
        return _LEFT + float(ticks - self.left) / self.ticks

    def y(self, ticks: Exact) -> float:
        """Return where a height lies on paper."""
        return _TOP + float(self.high - ticks) / self.ticks

    def place(self, along: Exact, up: Exact) -> tuple[float, float]:
        """Return where a place on the wall lies on paper."""
        return self.x(along), self.y(up)


class _Turned(Scale):
    """Where places of upright panels lie, which are told down from the wall's highest point and along the wall."""

    def place(self, along: Exact, up: Exact) -> tuple[float, float]:
        """Return where on the drawing a place of a panel lies."""
        return self.x(up), self.y(self.high - along)


def draw_elevation(taken: WallTakeOff, unit: Unit) -> Drawing:
    """Return the elevation of a wall, seen from outside, to scale."""
    wall, title = taken.wall, f"Elevation of wall {clean(taken.wall.id)}"
    scale = _scale(wall)
    shapes = [*_heading(title, _SEEN if taken.hangs is Hangs.COURSES else _UPRIGHT), *_outline(wall, scale)]
    if taken.hangs is Hangs.COLUMNS:
        shapes += [shape for course in taken.courses for shape in _column(course, scale)]
    else:
        shapes += _courses(taken, scale, unit)
    for opening in wall.openings:
        shapes += _opening(opening, scale)
    dimensions, bottom = _dimensions(wall, scale, unit)
    return Drawing(title, _described(taken, unit), WIDTH, bottom, (*shapes, *dimensions))


def _column(course: Course, scale: Scale) -> Iterator[Shape]:
    """Yield an upright panel's pieces, and its number over the wall."""
    turned = _Turned(scale.ticks, scale.left, scale.high)
    for run in course.runs:
        yield Strokes(tuple(_edges(run, turned)), THIN)
    yield Text((scale.x(course.band.bottom) + scale.x(course.band.top)) / 2, _TOP - 1, str(course.band.number), _SMALL)


def _courses(taken: WallTakeOff, scale: Scale, unit: Unit) -> Iterator[Shape]:
    below: set[tuple[int, int]] = set()
    for course in taken.courses:
        yield from _course(course, scale, unit)
        for run in course.runs:
            yield from _label(run, scale, unit) if (run.start, run.length) not in below else ()
        below = {(run.start, run.length) for run in course.runs}


def draw_outline(wall: Wall, unit: Unit) -> Drawing:
    """Return a wall that can't be taken off yet: its outline with its corners numbered, and its openings."""
    scale = _scale(wall)
    title = f"Outline of wall {clean(wall.id)}"
    shapes = [*_heading(title, _UNFINISHED), *_outline(wall, scale), *_corners(wall, scale)]
    shapes += [shape for opening in wall.openings for shape in _opening(opening, scale)]
    dimensions, bottom = _dimensions(wall, scale, unit)
    return Drawing(title, _openings(wall), WIDTH, bottom, (*shapes, *dimensions))


def _corners(wall: Wall, scale: Scale) -> Iterator[Text]:
    """Yield the number of each corner of the outline, outside of it where it lies at a side."""
    right = max(p.x for p in wall.outline)
    for number, point in enumerate(wall.outline, 1):
        at, shift = (Anchor.START, 1.2) if point.x == right else (Anchor.END, -1.2)
        yield Text(scale.x(point.x) + shift, scale.y(point.y) - 0.8, str(number), 2.4, at, bold=True)


def _scale(wall: Wall) -> Scale:
    outline = wall.outline
    left, right = min(p.x for p in outline), max(p.x for p in outline)
    low, high = min(p.y for p in outline), max(p.y for p in outline)
    return Scale(max(1.0, (right - left) / (WIDTH - _LEFT - _RIGHT), (high - low) / _TALLEST), left, high)


def _heading(title: str, words: str) -> Iterator[Shape]:
    yield Text(0, 5, fitted(title, 4, WIDTH), 4, Anchor.START, bold=True)
    yield Text(0, 9.5, words, 2.4, Anchor.START)


def _outline(wall: Wall, scale: Scale) -> Iterator[Shape]:
    yield Line(tuple((scale.x(p.x), scale.y(p.y)) for p in wall.outline), BOLD, closed=True)


def _course(course: Course, scale: Scale, unit: Unit) -> Iterator[Shape]:
    """Yield the course's runs, its number at the left and the height of its lower edge at the right."""
    for run in course.runs:
        yield Strokes(tuple(_edges(run, scale)), THIN)
    middle, line = (scale.y(course.band.bottom) + scale.y(course.band.top)) / 2, scale.y(course.band.bottom)
    yield Text(_LEFT - 2, middle + 0.7, str(course.band.number), _SMALL, Anchor.END)
    yield Strokes((((WIDTH - _RIGHT + 1, line), (WIDTH - _RIGHT + 4, line)),), THIN)
    yield Text(WIDTH - _RIGHT + 5, line + 0.7, say(course.band.bottom, unit), _SMALL, Anchor.START)


def _edges(run: RunOnWall, scale: Scale) -> Iterator[Segment]:
    """Yield the outline of what shows of a run: the sides of its parts, and where two parts meet, only what differs."""
    for (a, low), (b, _), (c, high), (d, _) in run.face:
        yield scale.place(a, low), scale.place(d, high)
        yield scale.place(b, low), scale.place(c, high)
    for y in sorted({y for part in run.face for _, y in part}):
        above = sorted(x for part in run.face if part[0][1] == y for x in (part[0][0], part[1][0]))
        under = sorted(x for part in run.face if part[2][1] == y for x in (part[3][0], part[2][0]))
        for start, end in _differing(above, under):
            yield scale.place(start, y), scale.place(end, y)


def _differing(one: Sequence[Exact], other: Sequence[Exact]) -> Iterator[tuple[Exact, Exact]]:
    """Yield the stretches that lie in one of two rows of stretches, but not in both; each row lists ends in order."""
    for start, end in pairwise(sorted({*one, *other})):
        inside = [sum(x <= start for x in row) % 2 for row in (one, other)]
        if inside[0] != inside[1]:
            yield start, end


def _label(run: RunOnWall, scale: Scale, unit: Unit) -> Iterator[Text]:
    """Yield the run's clear length on the largest part of what shows of it, unless it would be too small to read."""
    (left, low), (right, _), (end, high), _ = max(run.face, key=lambda p: (p[1][0] - p[0][0]) * (p[2][1] - p[1][1]))
    text = say(run.length, unit)
    room, tall = scale.x(min(right, end)) - scale.x(left) - 0.6, scale.y(low) - scale.y(high)
    size = min(_SMALL, _SMALL * room / width_of(text, _SMALL), tall - 0.4)
    if size >= _LEAST:
        yield Text((scale.x(left) + scale.x(right)) / 2, (scale.y(low) + scale.y(high)) / 2 + 0.35 * size, text, size)


def _opening(opening: Opening, scale: Scale) -> Iterator[Shape]:
    corners = rectangle(scale.x(opening.left), scale.y(opening.top), scale.x(opening.right), scale.y(opening.bottom))
    (left, top), (right, _), (_, bottom), _ = corners
    name = clean(opening.id)
    half, middle = width_of(name, 2.6, bold=True) / 2 + 0.8, ((left + right) / 2, (top + bottom) / 2)
    inside = 2 * half < right - left and bottom - top > 4.4
    free: Box | None = (middle[0] - half, middle[1] - 2, middle[0] + half, middle[1] + 2) if inside else None
    yield Line(corners, OUTLINE, closed=True)
    yield hatched(corners, 2.4, free)
    if inside:
        yield Text(middle[0], middle[1] + 0.9, name, 2.6, bold=True)
    else:
        yield Text(right + 0.6, middle[1] + 0.8, name, 2.2, Anchor.START, bold=True)


def _dimensions(wall: Wall, scale: Scale, unit: Unit) -> tuple[tuple[Shape, ...], float]:
    """Return the dimensions under the wall, openings first, and the y at which the drawing ends."""
    ends = min(p.x for p in wall.outline), max(p.x for p in wall.outline)
    foot = scale.y(min(p.y for p in wall.outline))
    marks = sorted({*ends, *(x for opening in wall.openings for x in (opening.left, opening.right))})
    parts = [Stretch(scale.x(a), scale.x(b), say(b - a, unit)) for a, b in pairwise(marks)]
    first = chain(parts if len(parts) > 1 else [], foot + 5.5, foot + 0.6)
    across = Stretch(scale.x(ends[0]), scale.x(ends[1]), say(ends[1] - ends[0], unit))
    whole = chain([across], first.bottom + 3.6, foot + 0.6)
    return (*first.shapes, *whole.shapes), whole.bottom + 1


def _openings(wall: Wall) -> str:
    names = ", ".join(f"{opening.kind} {clean(opening.id)}" for opening in wall.openings)
    return f"Openings: {names or 'none'}."


def _described(taken: WallTakeOff, unit: Unit) -> str:
    called = "panel" if taken.hangs is Hangs.COLUMNS else "course"
    rows = (
        f"{called} {course.band.number}: {', '.join(say(run.length, unit) for run in course.runs)}"
        for course in taken.courses
    )
    return f"{_openings(taken.wall)} From the lowest, {'; '.join(rows)}."
