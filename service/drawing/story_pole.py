"""The story pole of a wall: a stick to hold against it, courses marked on one side, sills and heads on the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.drawing.lettering import clean, fitted
from service.drawing.shapes import BOLD, OUTLINE, THIN, Anchor, Drawing, Shape, Strokes, Text, box
from solver.lengths import Unit, say
from solver.takeoff.answer import WallTakeOff

_WIDTH, _HEIGHT, _TOP = 90.0, 230.0, 16.0
_POLE, _BROAD = 42.0, 6.0
_APART = 3.0


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on the pole: its height above the starter line, in ticks, and what it stands for."""

    height: int
    text: str


def draw_story_pole(taken: WallTakeOff, unit: Unit) -> Drawing:
    """Return the pole; heights are above the lower edge of the wall's first course."""
    base = taken.courses[0].band.bottom
    courses = [Mark(course.band.bottom - base, f"course {course.band.number}") for course in taken.courses]
    others = sorted(_others(taken, base), key=lambda mark: mark.height)
    low, high = (pick(mark.height for mark in (*courses, *others)) for pick in (min, max))
    scale = max(1, high - low) / (_HEIGHT - 8)
    foot = _TOP + (high - low) / scale
    shapes: list[Shape] = [*_heading(taken), box(_POLE, _TOP - 2, _BROAD, foot - _TOP + 4, OUTLINE)]
    for mark in courses:
        shapes += _left(mark, foot - (mark.height - low) / scale, unit)
    shapes += _right(others, [foot - (mark.height - low) / scale for mark in others], unit)
    title = f"Story pole of wall {clean(taken.wall.id)}"
    return Drawing(title, _described(courses, others, unit), _WIDTH, foot + 5, tuple(shapes))


def _heading(taken: WallTakeOff) -> Iterator[Shape]:
    yield Text(0, 5, fitted(f"Story pole of wall {clean(taken.wall.id)}", 4, _WIDTH), 4, Anchor.START, bold=True)
    yield Text(0, 9.5, "Heights above the lip of course 1.", 2.4, Anchor.START)


def _others(taken: WallTakeOff, base: int) -> Iterator[Mark]:
    for opening in taken.wall.openings:
        yield Mark(opening.bottom - base, f"sill of {clean(opening.id)}")
        yield Mark(opening.top - base, f"head of {clean(opening.id)}")
    for height in {point.y for point in taken.wall.outline if point.y > base}:
        yield Mark(height - base, "corner of the outline")


def _left(mark: Mark, y: float, unit: Unit) -> Iterator[Shape]:
    yield Strokes((((_POLE, y), (_POLE + _BROAD / 2, y)),), BOLD)
    yield Text(_POLE - 1.5, y + 0.8, f"{mark.text}: {say(mark.height, unit)}", 2.3, Anchor.END)


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


def _described(courses: Sequence[Mark], others: Sequence[Mark], unit: Unit) -> str:
    words = (f"{mark.text} at {say(mark.height, unit)}" for mark in (*courses, *others))
    return f"{'; '.join(words)}."
