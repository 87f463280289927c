"""What a drawing is made of. All measures are millimetres on paper, x to the right, y down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

Point = tuple[float, float]
Segment = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn: its width, and the lengths of its dashes and gaps (none: unbroken)."""

    width: float
    dashes: tuple[float, ...] = ()


LEAST = 3.2
"""The smallest letters on paper, in millimetres: 9 points."""
BOLD = Pen(0.5)
OUTLINE = Pen(0.3)
THIN = Pen(0.15)
HATCH = Pen(0.12)
HIDDEN = Pen(0.2, (0.9, 0.6))
"""An edge that lies behind something."""
LIMIT = Pen(0.2, (3.0, 0.8, 0.5, 0.8))
"""A limit that nobody sees on the wall: a stretch to be kept clear, a line of sight."""


class Anchor(StrEnum):
    """Which part of a text stands at its x."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points; ``closed`` makes it an outline, ``filled`` a solid."""

    points: tuple[Point, ...]
    pen: Pen = THIN
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Strokes:
    """Separate straight lines with one pen."""

    segments: tuple[Segment, ...]
    pen: Pen = THIN


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle, or where it is wider than high a lozenge with round ends, about its centre."""

    x: float
    y: float
    width: float
    height: float
    pen: Pen = THIN


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text on the baseline at ``y``; ``upright`` text reads from below."""

    x: float
    y: float
    text: str
    size: float = 2.6
    anchor: Anchor = Anchor.MIDDLE
    bold: bool = False
    upright: bool = False


Shape = Line | Strokes | Ring | Text


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing; ``title`` and ``description`` say in words what it shows."""

    title: str
    description: str
    width: float
    height: float
    shapes: tuple[Shape, ...]


def rectangle(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    """Return the corners of a rectangle, clockwise from the upper left."""
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def box(x: float, y: float, width: float, height: float, pen: Pen = THIN) -> Line:
    """Return a rectangle from its upper left corner."""
    return Line(rectangle(x, y, x + width, y + height), pen, closed=True)


def arrow(start: Point, end: Point) -> Iterator[Shape]:
    """Yield a level arrow."""
    (x, y), way = end, 1 if end[0] > start[0] else -1
    yield Strokes(((start, end),), THIN)
    yield Line(((x, y), (x - 1.8 * way, y - 0.8), (x - 1.8 * way, y + 0.8)), THIN, closed=True, filled=True)


def moved(shapes: Iterable[Shape], dx: float, dy: float) -> tuple[Shape, ...]:
    """Return shapes moved as told."""
    return tuple(_moved(shape, dx, dy) for shape in shapes)


def _moved(shape: Shape, dx: float, dy: float) -> Shape:
    match shape:
        case Line():
            return replace(shape, points=tuple((x + dx, y + dy) for x, y in shape.points))
        case Strokes():
            moved_segments = (((a + dx, b + dy), (c + dx, d + dy)) for (a, b), (c, d) in shape.segments)
            return replace(shape, segments=tuple(moved_segments))
        case Ring() | Text():
            return replace(shape, x=shape.x + dx, y=shape.y + dy)


def stacked(title: str, description: str, drawings: Iterable[Drawing], between: float = 6) -> Drawing:
    """Return drawings one below the other."""
    shapes: list[Shape] = []
    y = width = 0.0
    for drawing in drawings:
        shapes += moved(drawing.shapes, 0, y)
        y += drawing.height + between
        width = max(width, drawing.width)
    return Drawing(title, description, width, max(y - between, 1), tuple(shapes))
