"""The lower bound where ends don't matter: a stick may hold any number of run pieces, a run any pieces that add up.

Values of slots from the sided linear program, averaged over both sides, serve here as well: any values bound
the cost of all plans. A stick's ceiling is a knapsack over plain pieces and slots of every length, a run's least
cost the cheapest row of pieces of the right sum, whatever their number; rules of placement are left out, which
only lowers the bound.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

import numpy as np

from solver.laps.fills import Fills
from solver.laps.prices import Ints, width
from solver.laps.site import MOST_CELLS, Site
from solver.laps.sums import FreeSum
from solver.laps.valuing import Values

MOST = 2**60
"""Stands for what no pieces add up to: sums of values stay far below it."""

MOST_LISTED = 4 * MOST_CELLS
"""Rows of pieces that take more cells than this together are listed on a coarser grid."""


def freely_bounded(site: Site, values: Values) -> Fraction:
    """Return the bound that slot values, averaged over both sides, prove where ends don't matter."""
    slots = [slot for side in values.slots for slot in side]
    slot: Ints = sum(slots[1:], slots[0]) // len(slots) if slots else np.zeros(width(site) + 1, np.int64)
    ceilings = _ceilings(site, values, slot)
    stretch, used = Fraction(1), dict[int, int]()
    for kind, stick in enumerate(site.problem.sticks):
        ceiling, cost = int(ceilings[(stick.length + site.problem.kerf) // site.cell]), stick.cost * values.scale
        if stick.limit is not None:
            used[kind] = max(0, ceiling - cost)
        elif ceiling > cost:
            stretch = max(stretch, Fraction(ceiling, cost))
    total = _least_costs(site, slot)
    total += sum(site.problem.pieces[i].demand * int(v) for i, v in zip(site.plain, values.plain, strict=True))
    total -= sum((site.problem.sticks[k].limit or 0) * extra for k, extra in used.items())
    return Fraction(total) / (stretch * values.scale)


def _ceilings(site: Site, values: Values, slot: Ints) -> Ints:
    """Return for every number of cells the most that plain pieces and any slots in them are worth."""
    problem = site.problem
    sizes = [(problem.pieces[i].length + problem.kerf) // site.cell for i in site.plain]
    counts = [problem.pieces[i].demand for i in site.plain]
    worth = Fills(sizes, values.plain, counts, width(site), exact=False).worth
    for size in range(1, len(worth)):
        # Ascending sizes: worth[size - x] already holds any number of slots, so one more makes any number.
        reach = slot[1 : size + 1] + worth[size - 1 :: -1]
        worth[size] = max(int(worth[size]), int(reach.max()))
    found: Ints = worth
    return found


def _least_costs(site: Site, slot: Ints) -> int:
    """Return the least that pieces adding up to every run are worth, all together."""
    rows = Rows(slot)
    counts = Counter(site.alike)
    sums = {alike: site.sums[run] for run, alike in enumerate(site.alike)}
    least = {alike: min((_least_cost(site, rows, s) for s in found), default=0) for alike, found in sums.items()}
    return sum(counts[alike] * least[alike] for alike in counts)


def _least_cost(site: Site, rows: Rows, each: FreeSum) -> int:
    together, shortest = _cells(site, each)
    return rows.least(each.parts, shortest, together)


def _cells(site: Site, each: FreeSum) -> tuple[int, int]:
    """Return the fewest cells that the pieces take together, and the fewest that each takes.

    On an exact grid (see the package) pieces are whole cells, and a piece may be none at all. Else each is rounded
    down to cells. The shortest piece is what is left beside others as long as can be.
    """
    kerf, cell = site.problem.kerf, site.cell
    together = each.length + kerf * each.parts
    exact = cell == site.divisor
    shortest = (max(0 if exact else 1, each.length - each.longest * (each.parts - 1)) + kerf) // cell
    return together // cell if exact else max(shortest * each.parts, together // cell - each.parts + 1), shortest


class Rows:
    """The least that rows of pieces are worth at one slot's values, by number of pieces and cells together."""

    def __init__(self, slot: Ints) -> None:
        """``slot[n]`` is the value of ``n`` cells, 0 to the longest stick's; it never falls."""
        self._slot = slot
        self._known: dict[tuple[int, int, int], Ints] = {}

    def least(self, parts: int, shortest: int, cells: int) -> int:
        """Return the least that ``parts`` pieces of ``shortest`` cells or more are worth that take ``cells`` together.

        Rows of half the pieces are joined. Where those are too long to list, several cells count as one: every piece
        is rounded down once more, as little as it can be worth, and so are they together.
        """
        half = parts // 2
        joined = -(-(parts - half) * len(self._slot) // MOST_LISTED)
        together = max(-(-(cells - parts * (joined - 1)) // joined), shortest // joined * parts)
        one, other = (self._row(n, shortest // joined, joined) for n in (half, parts - half))
        low, high = max(0, together - len(other) + 1), min(together, len(one) - 1)
        return int((one[low : high + 1] + other[together - high : together - low + 1][::-1]).min())

    def _row(self, parts: int, shortest: int, joined: int) -> Ints:
        """Return by cells together, from 0, what ``parts`` pieces are worth at the least; MOST where none are."""
        key = parts, shortest, joined
        if key not in self._known:
            self._known[key] = self._longer(*key) if parts else np.zeros(1, np.int64)
        return self._known[key]

    def _longer(self, parts: int, shortest: int, joined: int) -> Ints:
        slot, before = self._slot[::joined], self._row(parts - 1, shortest, joined)
        row = np.full(len(before) + len(slot) - 1, MOST, np.int64)
        for size in range(shortest, len(slot)):
            part = row[size : size + len(before)]
            np.minimum(part, before + (slot[size] if size else 0), out=part)
        return row
