"""Whole numbers in closed intervals, and the open stretches that break a rule there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import pairwise

Interval = tuple[int, int]


def without(low: int, high: int, holes: Iterable[Interval]) -> list[Interval]:
    """Return ``low`` to ``high`` (closed) less every open stretch in ``holes``, as closed intervals in order."""
    kept: list[Interval] = []
    for start, end in sorted(holes):
        if low > high or start >= high:
            break
        if end <= low or end - start < 2:
            continue
        if start >= low:
            kept.append((low, start))
        low = max(low, end)
    if low <= high:
        kept.append((low, high))
    return kept


def levels(low: int, high: int, holes: Iterable[Interval]) -> Iterator[tuple[int, int, int]]:
    """Cut ``low`` to ``high`` where the number of open ``holes`` about a point changes: (from, to, holes)."""
    steps: Counter[int] = Counter()
    for start, end in holes:
        first, beyond = max(low, start + 1), min(high + 1, end)
        if first < beyond:
            steps[first] += 1
            steps[beyond] -= 1
    points = sorted({low, high + 1, *steps})
    depth = 0
    for point, following in pairwise(points):
        depth += steps[point]
        yield point, following - 1, depth


def hit(point: int, holes: Iterable[Interval]) -> int:
    """Return how many open stretches hold the point."""
    return sum(start < point < end for start, end in holes)
