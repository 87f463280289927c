"""What values of slots prove where ends don't matter: a stick may hold any pieces of runs, a run any that add up.

Values of slots from the sided linear program, averaged over both sides, serve here as well. A stick's ceiling is a
knapsack over plain pieces and slots of every length, a run's least cost the cheapest row of pieces of the right sum,
whatever their number; rules between courses are left out, which only lowers the bound.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from solver.laps.bounds.dual_values import DualValues, NumberRow
from solver.laps.bounds.pricing import Fills
from solver.laps.model import MOST_CELLS, Ints, LapModel
from solver.laps.templates import FreeSum

MOST = 2**60
"""Stands for what no pieces add up to: sums of values stay far below it."""

MOST_LISTED = 4 * MOST_CELLS
"""Rows of pieces that take more cells than this together are listed on a coarser grid."""


def free_ends_row(model: LapModel, values: DualValues) -> NumberRow:
    """Return what slot values, averaged over both sides, prove of the numbers of sticks where ends don't matter."""
    slot = averaged(model, values)
    ceilings = _ceilings(model, values, slot)
    yields = tuple(int(ceilings[model.cells(stick.length)]) for stick in model.problem.sticks)
    worth = _least_costs(model, slot)
    worth += sum(model.problem.pieces[i].demand * int(v) for i, v in zip(model.plain, values.plain, strict=True))
    return NumberRow(yields, worth, values.scale)


def averaged(model: LapModel, values: DualValues) -> Ints:
    """Return one value for a slot of each size, whatever end it lies at: shape (width + 1,)."""
    slots = [slot for side in values.slots for slot in side]
    return sum(slots[1:], slots[0]) // len(slots) if slots else np.zeros(model.width + 1, np.int64)


def _ceilings(model: LapModel, values: DualValues, slot: Ints) -> Ints:
    """Return the most that plain pieces and any slots are worth in 0, 1, ... cells: shape (width + 1,)."""
    problem = model.problem
    counts = [problem.pieces[i].demand for i in model.plain]
    worth = Fills(model.sizes, values.plain, counts, model.width, exact=False).worth
    for size in range(1, len(worth)):
        # Ascending sizes: worth[size - x] already holds any number of slots, so one more makes any number.
        reach = slot[1 : size + 1] + worth[size - 1 :: -1]
        worth[size] = max(int(worth[size]), int(reach.max()))
    found: Ints = worth
    return found


def _least_costs(model: LapModel, slot: Ints) -> int:
    """Return the least that pieces adding up to every run are worth, all together."""
    rows = Rows(slot)
    counts = Counter(model.alike)
    sums = {alike: model.sums[run] for run, alike in enumerate(model.alike)}
    least = {alike: min((_least_cost(model, rows, s) for s in found), default=0) for alike, found in sums.items()}
    return sum(counts[alike] * least[alike] for alike in counts)


def _least_cost(model: LapModel, rows: Rows, each: FreeSum) -> int:
    together, shortest = _cells(model, each)
    return rows.least(each.parts, shortest, together)


def _cells(model: LapModel, each: FreeSum) -> tuple[int, int]:
    """Return the fewest cells that the pieces take together, and the fewest that each takes.

    On an exact grid (see the package) pieces are whole cells, and a piece may be none at all. Else each is rounded
    down to cells. The shortest piece is what is left beside others as long as can be.
    """
    together = model.problem.taken(each.length, each.parts) // model.cell
    exact = model.cell == model.divisor
    shortest = model.cells(max(0 if exact else 1, each.length - each.longest * (each.parts - 1)))
    return together if exact else max(shortest * each.parts, together - each.parts + 1), shortest


class Rows:
    """The least that rows of pieces are worth at one slot's values, by number of pieces and cells together."""

    def __init__(self, slot: Ints) -> None:
        """``slot``, of shape (width + 1,), is the value of 0, 1, ... cells to the longest stick's; it never falls."""
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
