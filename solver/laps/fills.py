"""What plain pieces can fill: for every size the most that pieces of that size together are worth."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solver.cutting.reachable import halves

Vector = NDArray[Any]


class Fills:
    """The bounded knapsack over plain pieces, kept so that every size can be traced back.

    ``worth[x]`` is the most that pieces of total size exactly ``x`` are worth (-inf where there are none) if
    ``exact``, else of size ``x`` at the most, in the type of ``values``.
    """

    def __init__(self, sizes: Sequence[int], values: Vector, counts: Sequence[int], width: int, *, exact: bool) -> None:
        """``width`` is the largest size. Pieces of no value are left out unless ``exact``."""
        self.worth: Vector = np.zeros(width + 1, values.dtype)
        if exact:
            self.worth = np.full(width + 1, -np.inf)
            self.worth[0] = 0.0
        self._parts: list[tuple[int, int, int, NDArray[np.bool_]]] = []
        for piece, (size, count) in enumerate(zip(sizes, counts, strict=True)):
            if count > 0 and (exact or values[piece] > 0):
                for times in halves(min(count, width // size)):
                    self._add(piece, times, size * times, values[piece] * times)

    def _add(self, piece: int, times: int, size: int, value: np.number[Any]) -> None:
        worth = self.worth
        if size >= len(worth):
            return
        tried = worth[: len(worth) - size] + value
        better = tried > worth[size:]
        if better.any():
            self.worth = worth.copy()
            self.worth[size:][better] = tried[better]
            self._parts.append((piece, times, size, better))

    def trace(self, size: int) -> list[int]:
        """Return the pieces behind ``worth[size]``, by index, repeated."""
        pieces: list[int] = []
        for piece, times, taken, better in reversed(self._parts):
            if size >= taken and better[size - taken]:
                pieces += [piece] * times
                size -= taken
        return pieces
