"""Dimension chains as on a carpenter's drawing: a thin line, a slash at every mark, the measure over the line.

A measure wider than its stretch is set below the line, on a leader, clear of its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.drawing.lettering import width_of
from service.drawing.shapes import THIN, Segment, Shape, Strokes, Text

SIZE = 2.5
"""Height of the figures."""
Range = tuple[float, float]
_SLASH = 0.9
_ROW = 3.2


@dataclass(frozen=True, slots=True)
class Stretch:
    """One dimensioned stretch from ``start`` to ``end``; ``marks`` are slashes between them, for equal parts."""

    start: float
    end: float
    text: str
    marks: tuple[float, ...] = ()

    @property
    def middle(self) -> float:
        """Where its measure would stand."""
        return (self.start + self.end) / 2


@dataclass(frozen=True, slots=True)
class Chain:
    """A drawn chain and the y below which nothing of it stands."""

    shapes: tuple[Shape, ...]
    bottom: float


def chain(stretches: Sequence[Stretch], y: float, extend_from: float | None = None) -> Chain:
    """Return stretches dimensioned along y; extension lines come down from ``extend_from``."""
    if not stretches:
        return Chain((), y)
    marks = sorted({x for s in stretches for x in (s.start, *s.marks, s.end)})
    shapes: list[Shape] = [Strokes((*_lines(stretches, y), *_slashes(marks, y)), THIN)]
    if extend_from is not None:
        ends = sorted({x for s in stretches for x in (s.start, s.end)})
        shapes.append(Strokes(tuple(((x, extend_from), (x, y + 1.2)) for x in ends), THIN))
    inside = [s for s in stretches if _fits(s)]
    shapes += [Text(s.middle, y - 0.8, s.text, SIZE) for s in inside]
    outside = list(_set_below([s for s in stretches if not _fits(s)], y, (marks[0], marks[-1])))
    shapes += [shape for _, placed in outside for shape in placed]
    rows = max((row for row, _ in outside), default=-1) + 1
    return Chain(tuple(shapes), y + 1.4 + rows * _ROW)


def _lines(stretches: Sequence[Stretch], y: float) -> Iterator[Segment]:
    return (((s.start, y), (s.end, y)) for s in stretches)


def _slashes(marks: Sequence[float], y: float) -> Iterator[Segment]:
    return (((x - _SLASH, y + _SLASH), (x + _SLASH, y - _SLASH)) for x in marks)


def _fits(stretch: Stretch) -> bool:
    return width_of(stretch.text, SIZE) + 2 * _SLASH <= stretch.end - stretch.start


def _set_below(stretches: Sequence[Stretch], y: float, within: Range) -> Iterator[tuple[int, tuple[Shape, ...]]]:
    """Yield each measure's row below the line with its leader and text, within a range; rows fill from the nearest."""
    reach: list[float] = []
    for stretch in stretches:
        half = width_of(stretch.text, SIZE) / 2
        middle = max(min(stretch.middle, within[1] - half - 0.6), within[0] + half + 0.6)
        row = next((n for n, right in enumerate(reach) if right + 1 <= middle - half), len(reach))
        reach[row:] = [middle + half, *reach[row + 1 :]]
        base = y + 3.4 + row * _ROW
        leader = Strokes((((stretch.middle, y), (stretch.middle, base - 2.1)),), THIN)
        yield row, (leader, Text(middle, base, stretch.text, SIZE))
