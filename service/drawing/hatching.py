"""Hatching, drawn line by line: patterns by reference would clash where several drawings share a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import ceil, floor

from service.drawing.shapes import HATCH, Point, Segment, Strokes

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


def hatched(outline: Sequence[Point], spacing: float = 1.6, around: Box | None = None) -> Strokes:
    """Return lines at 45 degrees over a convex outline, ``spacing`` apart along the paper, leaving a box free."""
    parts = [outline] if around is None else [_clipped(outline, part) for part in _beside(outline, around)]
    return Strokes(tuple(segment for part in parts if len(part) > 2 for segment in _lines(part, spacing)), HATCH)


def cross_hatched(outline: Sequence[Point], spacing: float = 1.6) -> Strokes:
    """Return lines at 45 degrees both ways."""
    mirrored = [(-x, y) for x, y in outline]
    back = (((-a, b), (-c, d)) for (a, b), (c, d) in _lines(mirrored, spacing))
    return Strokes((*_lines(outline, spacing), *back), HATCH)


def _lines(outline: Sequence[Point], spacing: float) -> Iterator[Segment]:
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
