"""Dimension chains and hatching, as on a carpenter's drawing.

A chain is a thin line, a slash at every mark, the measure over the line; one wider than its stretch is set below, on a
leader, clear of its neighbours. Hatching is drawn line by line: patterns by reference would clash where several
drawings share a page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor

from service.drawing.lettering import width_of
from service.drawing.shapes import HATCH, LEAST, THIN, Point, Segment, Shape, Strokes, Text

SIZE = LEAST
"""Height of the figures."""
Range = tuple[float, float]
_SLASH = 0.9
_ROW = 3.8
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


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
        base = y + 4.0 + row * _ROW
        leader = Strokes((((stretch.middle, y), (stretch.middle, base - 2.7)),), THIN)
        yield row, (leader, Text(middle, base, stretch.text, SIZE))


def hatched(outline: Sequence[Point], spacing: float = 1.6, around: Box | None = None) -> Strokes:
    """Return lines at 45 degrees over a convex outline, ``spacing`` apart along the paper, leaving a box free."""
    parts = [outline] if around is None else [_clipped(outline, part) for part in _beside(outline, around)]
    return Strokes(tuple(segment for part in parts if len(part) > 2 for segment in _hatch_lines(part, spacing)), HATCH)


def cross_hatched(outline: Sequence[Point], spacing: float = 1.6) -> Strokes:
    """Return lines at 45 degrees both ways."""
    mirrored = [(-x, y) for x, y in outline]
    back = (((-a, b), (-c, d)) for (a, b), (c, d) in _hatch_lines(mirrored, spacing))
    return Strokes((*_hatch_lines(outline, spacing), *back), HATCH)


def _hatch_lines(outline: Sequence[Point], spacing: float) -> Iterator[Segment]:
    """Cut the outline with the lines x + y = n * spacing."""
    sums = [x + y for x, y in outline]
    for n in range(ceil(min(sums) / spacing), floor(max(sums) / spacing) + 1):
        ends = sorted(_crossings(outline, n * spacing))
        if len(ends) > 1 and ends[-1][0] - ends[0][0] > 0.05:
            yield ends[0], ends[-1]


def _crossings(outline: Sequence[Point], level: float) -> Iterator[Point]:
    for (ax, ay), (bx, by) in pairwise([*outline, outline[0]]):
        low, high = ax + ay - level, bx + by - level
        if low != high and min(low, high) <= 0 <= max(low, high):
            part = low / (low - high)
            yield ax + part * (bx - ax), ay + part * (by - ay)


def _beside(outline: Iterable[Point], around: Box) -> Iterator[Box]:
    """Yield the boxes left, right, above and below of a box, within the outline's bounds."""
    xs, ys = zip(*outline, strict=True)
    left, top, right, bottom = around
    yield min(xs), min(ys), left, max(ys)
    yield right, min(ys), max(xs), max(ys)
    yield left, min(ys), right, top
    yield left, bottom, right, max(ys)


def _clipped(outline: Sequence[Point], to: Box) -> list[Point]:
    """Return the convex outline within a box, cut with each of its four sides in turn."""
    left, top, right, bottom = to
    if left >= right or top >= bottom:
        return []
    points = list(outline)
    for axis, limit, sign in ((0, left, 1), (0, right, -1), (1, top, 1), (1, bottom, -1)):
        points = list(_half(points, axis, limit, sign))
    return points


def _half(points: Sequence[Point], axis: int, limit: float, sign: int) -> Iterator[Point]:
    for a, b in pairwise([*points, *points[:1]]):
        inside, following = (sign * (p[axis] - limit) for p in (a, b))
        if inside >= 0:
            yield a
        if inside * following < 0:
            part = inside / (inside - following)
            yield a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1])
