"""Cutting the plain pieces that no run's sticks had room for."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from solver.laps.fills import Fills
from solver.laps.prices import width
from solver.laps.yard import Filling, Yard


def pack(yard: Yard, sizes: Sequence[int]) -> None:
    """Cut what is left of the plain pieces, always the stick that costs least for what it holds.

    Of fills of one size the longest pieces go first (subset sums, longest first: a common heuristic).
    """
    top = max(sizes, default=1)
    values = np.array([size * (1.0 + 1e-4 * size / top) for size in sizes])
    while any(yard.left):
        fills = Fills(sizes, values, yard.left, width(yard.site), exact=True)
        best = _best_stick(yard, fills)
        if best is None:
            return
        kind, size = best
        yard.add(Filling(kind, plain=tuple(sorted(fills.trace(size)))))


def _best_stick(yard: Yard, fills: Fills) -> tuple[int, int] | None:
    best, least = None, np.inf
    kerf, cell = yard.site.problem.kerf, yard.site.cell
    for kind, stick in enumerate(yard.site.problem.sticks):
        if yard.may_use(kind):
            cells = (stick.length + kerf) // cell
            size = int(fills.worth[: cells + 1].argmax())
            if size and stick.cost / size < least:
                best, least = (kind, size), stick.cost / size
    return best
