"""Numbers of sticks: a range for each kind, and those within the ranges, cheapest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from math import prod

import numpy as np

from solver.cutting.certificate import Certificate
from solver.cutting.pricing import IntVector
from solver.watch import Watch

MOST_BITS = 46
"""Bits of a cut's worth when numbers are listed; it is checked in full afterwards."""

Numbers = tuple[int, ...]
"""How many sticks of each kind."""


@dataclass(frozen=True, slots=True, order=True)
class Box:
    """Numbers from ``least`` to ``most``, none of which costs less than ``bound``."""

    bound: int
    least: Numbers
    most: Numbers

    @property
    def choices(self) -> int:
        """How many kinds have a choice."""
        return sum(least < most for least, most in zip(self.least, self.most, strict=True))

    @property
    def size(self) -> int:
        """How many choices there are, the widest range aside."""
        spans = sorted(most - least + 1 for least, most in zip(self.least, self.most, strict=True))
        return prod(spans[:-1])

    def part(self, bound: int, k: int, least: int, most: int) -> Box:
        """Return the part with so many of stick ``k``."""
        return Box(bound, (*self.least[:k], least, *self.least[k + 1 :]), (*self.most[:k], most, *self.most[k + 1 :]))


def rules_out(cut: Certificate, numbers: Sequence[int]) -> bool:
    """Whether so many sticks are worth less than all pieces."""
    return sum(c * n for c, n in zip(cut.ceilings, numbers, strict=True)) < cut.worth


def candidates(
    box: Box, costs: Sequence[int], cuts: Sequence[Certificate], below: int, watch: Watch
) -> Iterator[Numbers]:
    """Yield the numbers in ``box`` that cost less than ``below``, cheapest first, without most that the cuts rule out.

    All but the widest range are listed; in that one the least number that satisfies the cuts is worked
    out, and those above it come as the cost allows. Once ``watch`` stops it, fewer cuts are heeded.
    """
    free = max(range(len(costs)), key=lambda k: box.most[k] - box.least[k])
    grid = _Grid(box, free)
    listed = grid.satisfying(cuts, watch)
    paid = grid.times(costs, listed)
    fits = (listed[-1] <= box.most[free]) & (paid < below)
    waiting: list[tuple[int, Numbers]] = []
    for first in grid.cheapest_first(listed[:, fits], paid[fits]):
        while waiting and waiting[0] < first:
            yield _next(waiting, free, costs[free], box.most[free])
        heappush(waiting, first)
    while waiting and waiting[0][0] < below:
        yield _next(waiting, free, costs[free], box.most[free])


class _Grid:
    """All choices in a box as columns: a row for each kind that has a choice, last the ``free`` one, which is 0."""

    def __init__(self, box: Box, free: int) -> None:
        self._box, self._free = box, free
        ranges = zip(box.least, box.most, strict=True)
        varied = [k for k, (least, most) in enumerate(ranges) if least < most and k != free]
        self._rows = [*varied, free]

    def times(self, factors: Sequence[int], columns: IntVector) -> IntVector:
        """Return ``factors`` times the numbers, those without a choice included."""
        same = sum(f * n for k, (f, n) in enumerate(zip(factors, self._box.least, strict=True)) if k not in self._rows)
        product: IntVector = np.array([factors[k] for k in self._rows], np.int64) @ columns
        return product + same

    def satisfying(self, cuts: Sequence[Certificate], watch: Watch) -> IntVector:
        """Return the columns with the least ``free`` number that satisfies every cut; one too many where none does."""
        box, free, columns = self._box, self._free, self._listed()
        least = np.full(columns.shape[1], box.least[free], np.int64)
        for cut in cuts:
            if watch.stopped:
                break
            ceilings, worth = coarser(cut)
            lacking = worth - self.times(ceilings, columns)
            gain = ceilings[free]
            needed = -(-lacking // gain) if gain else np.where(lacking > 0, box.most[free] + 1, 0)
            np.maximum(least, needed, out=least)
        columns[-1] = least
        return columns

    def _listed(self) -> IntVector:
        ranges = (np.arange(self._box.least[k], self._box.most[k] + 1) for k in self._rows[:-1])
        axes = np.meshgrid(*ranges, np.zeros(1, np.int64), indexing="ij")
        return np.array([axis.ravel() for axis in axes], np.int64)

    def cheapest_first(self, columns: IntVector, paid: IntVector) -> Iterator[tuple[int, Numbers]]:
        """Yield what columns cost, and the numbers of all kinds."""
        numbers, order = list(self._box.least), sorted(range(len(self._rows)), key=self._rows.__getitem__, reverse=True)
        for column in np.lexsort((*columns[order], paid)).tolist():
            for k, n in zip(self._rows, columns[:, column].tolist(), strict=True):
                numbers[k] = n
            yield int(paid[column]), tuple(numbers)


def _next(waiting: list[tuple[int, Numbers]], free: int, cost: int, most: int) -> Numbers:
    """Take the cheapest numbers, and let those with one more of the ``free`` stick wait in their place."""
    paid, numbers = heappop(waiting)
    if cost and numbers[free] < most:
        heappush(waiting, (paid + cost, (*numbers[:free], numbers[free] + 1, *numbers[free + 1 :])))
    return numbers


def coarser(cut: Certificate, bits: int = MOST_BITS) -> tuple[list[int], int]:
    """Return a cut that rules out no more, in numbers small enough to multiply by numbers of sticks in 64 bits."""
    shift = max(0, cut.worth.bit_length() - bits)
    return [-(-ceiling >> shift) for ceiling in cut.ceilings], cut.worth >> shift
