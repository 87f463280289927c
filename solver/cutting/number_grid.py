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
    def single(self) -> bool:
        """Whether only one choice is left."""
        return self.least == self.most

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
    spans = [most - least for least, most in zip(box.least, box.most, strict=True)]
    free = spans.index(max(spans))
    grid = _listed(box, free)
    paid = np.array(costs, np.int64) @ grid
    grid = grid[:, paid < below]
    grid[free] = _least_free(grid, free, cuts, box, watch)
    paid = np.array(costs, np.int64) @ grid
    fits = (grid[free] <= box.most[free]) & (paid < below)
    waiting: list[tuple[int, Numbers]] = []
    for first in _firsts(grid[:, fits], paid[fits]):
        while waiting and waiting[0] < first:
            yield _next(waiting, free, costs[free], box.most[free])
        heappush(waiting, first)
    while waiting and waiting[0][0] < below:
        yield _next(waiting, free, costs[free], box.most[free])


def _listed(box: Box, free: int) -> IntVector:
    """Return the numbers in a box as columns, with none of the ``free`` stick."""
    varied = [k for k, (least, most) in enumerate(zip(box.least, box.most, strict=True)) if least < most and k != free]
    axes = np.meshgrid(*(np.arange(box.least[k], box.most[k] + 1) for k in varied), indexing="ij")
    size = axes[0].size if axes else 1
    grid = np.repeat(np.array(box.least, np.int64)[:, None], size, axis=1)
    for k, axis in zip(varied, axes, strict=True):
        grid[k] = axis.ravel()
    grid[free] = 0
    return grid


def _firsts(grid: IntVector, paid: IntVector) -> Iterator[tuple[int, Numbers]]:
    """Yield the columns of a grid with what they cost, cheapest first."""
    for column in np.lexsort((*grid[::-1], paid)).tolist():
        yield int(paid[column]), tuple(grid[:, column].tolist())


def _next(waiting: list[tuple[int, Numbers]], free: int, cost: int, most: int) -> Numbers:
    """Take the cheapest numbers, and let those with one more of the ``free`` stick wait in their place."""
    paid, numbers = heappop(waiting)
    if cost and numbers[free] < most:
        heappush(waiting, (paid + cost, (*numbers[:free], numbers[free] + 1, *numbers[free + 1 :])))
    return numbers


def _least_free(grid: IntVector, free: int, cuts: Sequence[Certificate], box: Box, watch: Watch) -> IntVector:
    """Return the least number of the ``free`` stick that satisfies every cut; one too many where none does."""
    least = np.full(grid.shape[1], box.least[free], np.int64)
    for cut in cuts:
        if watch.stopped:
            break
        ceilings, worth = _coarser(cut)
        lacking = worth - np.array(ceilings, np.int64) @ grid
        gain = ceilings[free]
        needed = -(-lacking // gain) if gain else np.where(lacking > 0, box.most[free] + 1, 0)
        np.maximum(least, needed, out=least)
    return least


def _coarser(cut: Certificate) -> tuple[list[int], int]:
    """Return a cut that rules out no more, in numbers small enough to multiply by numbers of sticks in 64 bits."""
    shift = max(0, cut.worth.bit_length() - MOST_BITS)
    return [-(-ceiling >> shift) for ceiling in cut.ceilings], cut.worth >> shift
