"""What pieces are worth: prices by length for first and last pieces, and one for each plain piece.

A first piece of length ``a`` fills ``(a + kerf) // cell`` cells of the grid. Prices never fall with length:
a longer slot may serve a shorter piece.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.laps.shapes import Kinds
from solver.laps.site import Layout, Site

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices in units of cost: ``first[kinds][cells]``, ``last[kinds][cells]``, ``plain[place in site.plain]``.

    ``used[kind]`` is what one stick of a limited kind costs on top of its own cost.
    """

    first: Mapping[Kinds, Floats]
    last: Mapping[Kinds, Floats]
    plain: Floats
    used: Mapping[int, float]


def by_length(site: Site) -> Prices:
    """Return prices in proportion to length, at the cheapest stick's rate."""
    problem = site.problem
    rates = [stick.cost / stick.length for stick in problem.sticks if stick.cost > 0 and stick.limit != 0]
    rate = min(rates, default=0.0)
    cells: Floats = (np.arange(width(site) + 1) * (site.cell * rate)).astype(np.float64)
    firsts, lasts = site.sides
    plain = np.array([(problem.pieces[i].length + problem.kerf) * rate for i in site.plain])
    free = {k: rate * stick.length for k, stick in enumerate(problem.sticks) if stick.cost == 0}
    return Prices(dict.fromkeys(firsts, cells), dict.fromkeys(lasts, cells), plain, free)


def width(site: Site) -> int:
    """Return how many cells the longest stick and one kerf hold."""
    longest = max(stick.length for stick in site.problem.sticks)
    return (longest + site.problem.kerf) // site.cell


class PriceList:
    """Looks prices up by length in ticks."""

    def __init__(self, site: Site, prices: Prices) -> None:
        self._kerf, self._cell = site.problem.kerf, site.cell
        self._top = width(site)
        self.prices = prices
        sticks = site.problem.sticks
        self.cost = [stick.cost + prices.used.get(k, 0.0) for k, stick in enumerate(sticks)]

    def first(self, kinds: Kinds, lengths: Ints) -> Floats:
        """Return what first pieces of these lengths (no longer than the longest stick) from these sticks are worth."""
        return self._look_up(_of(self.prices.first, kinds), lengths)

    def last(self, kinds: Kinds, lengths: Ints) -> Floats:
        """Return what last pieces of these lengths (no longer than the longest stick) from these sticks are worth."""
        return self._look_up(_of(self.prices.last, kinds), lengths)

    def one_first(self, kinds: Kinds, length: int) -> float:
        """Return what one first piece is worth; nothing if there is none."""
        return float(_of(self.prices.first, kinds)[self._at(length)]) if kinds else 0.0

    def one_last(self, kinds: Kinds, length: int) -> float:
        """Return what one last piece is worth; nothing if there is none."""
        return float(_of(self.prices.last, kinds)[self._at(length)]) if kinds else 0.0

    def wholes(self, layout: Layout) -> float:
        """Return what a layout's whole sticks cost."""
        return sum(self.cost[k] for k in layout.shape.wholes)

    def cheapest(self, layout: Layout, step: int) -> float:
        """Return the least that a layout can cost, looking at every ``step`` ticks."""
        lengths = np.arange(layout.low, layout.high + 1, step)
        worth = np.zeros(len(lengths))
        if layout.shape.first:
            worth = worth + self.first(layout.shape.first, lengths)
        if layout.shape.last:
            worth = worth + self.last(layout.shape.last, layout.shape.rest - lengths)
        return self.wholes(layout) + float(worth.min())

    def _look_up(self, prices: Floats, lengths: Ints) -> Floats:
        found: Floats = prices[(lengths + self._kerf) // self._cell]
        return found

    def _at(self, length: int) -> int:
        return min((length + self._kerf) // self._cell, self._top)


def _of(side: Mapping[Kinds, Floats], kinds: Kinds) -> Floats:
    """Return the prices of pieces from these sticks; of sticks that no shape asks for together, the dearest of each."""
    if kinds in side:
        return side[kinds]
    found: Floats = np.maximum.reduce([prices for others, prices in side.items() if others & kinds] or [*side.values()])
    return found
