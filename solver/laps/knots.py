"""Values of slots by length, as straight lines between knots.

One row of the linear program for every length of slot would make thousands of rows. Here rows stand only at
knots: a slot between two knots counts partly for each, so its value is what the straight line between theirs
says. That only narrows the choice of values, so every bound proved with them holds. Where the program's
answer takes more slots above a length than it gives, that length becomes a knot.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from solver.laps.prices import Floats


class Knots:
    """Knots in cells, ascending, from the shortest slot that is asked for to the longest stick."""

    def __init__(self, low: int, high: int, apart: int) -> None:
        self.at = sorted({*range(low, high, apart), high})

    def parts(self, cells: int) -> tuple[tuple[int, float], ...]:
        """Return the knots that a slot of so many cells counts for, and its share in each; none for one too short."""
        place = bisect_left(self.at, cells)
        if self.at[place] == cells:
            return ((cells, 1.0),)
        if not place:
            return ()
        low, high = self.at[place - 1], self.at[place]
        share = (cells - low) / (high - low)
        return (low, 1.0 - share), (high, share)

    def about(self, cells: int) -> tuple[int, int]:
        """Return the knots on both sides of a length that is none."""
        place = bisect_left(self.at, cells)
        return self.at[place - 1], self.at[place]

    def add(self, cells: int) -> None:
        """Make a length a knot."""
        insort(self.at, cells)

    def line(self, values: Iterable[float]) -> Floats:
        """Return the value of every length from 0 to the last knot, given the knots' values; it never falls."""
        rising = np.maximum.accumulate(np.maximum(0.0, np.array(list(values))))
        found: Floats = np.interp(np.arange(self.at[-1] + 1), self.at, rising)
        found[: self.at[0]] = 0.0
        return found

    def most_wanting(self, balance: Floats, most: int) -> list[int]:
        """Return lengths above which slots are most wanting, at most one between two knots; ``balance`` by cells."""
        above = np.cumsum(balance[::-1])[::-1]
        found = []
        for low, high in pairwise(self.at):
            if high - low > 1:
                place = low + 1 + int(above[low + 1 : high].argmin())
                if above[place] < -1e-6:
                    found.append((float(above[place]), place))
        return [place for _, place in sorted(found)[:most]]
