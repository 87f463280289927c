"""Numbers of sticks: a range for each kind, and the list of those within the ranges that no certificate rules out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import prod

import numpy as np

from solver.cutting.certificate import Certificate
from solver.cutting.pricing import IntVector

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


def candidates(box: Box, costs: Sequence[int], cuts: Sequence[Certificate], below: int) -> Iterator[Numbers]:
    """Yield the numbers in ``box`` that no cut rules out and that cost less than ``below``, cheapest first.

    All but the widest range are listed; in that one the least number that satisfies the cuts is worked
    out, and those above it as far as the cost allows.
    """
    spans = [most - least for least, most in zip(box.least, box.most, strict=True)]
    free = spans.index(max(spans))
    varied = [k for k, span in enumerate(spans) if span and k != free]
    axes = np.meshgrid(*(np.arange(box.least[k], box.most[k] + 1) for k in varied), indexing="ij")
    grid = np.repeat(np.array(box.least, np.int64)[:, None], axes[0].size if axes else 1, axis=1)
    grid[free] = 0
    for k, axis in zip(varied, axes, strict=True):
        grid[k] = axis.ravel()
    paid = np.array(costs, np.int64) @ grid
    grid, paid = grid[:, paid < below], paid[paid < below]
    grid[free] = _least_free(grid, free, cuts, box)
    fits = (grid[free] <= box.most[free]) & (paid + grid[free] * costs[free] < below)
    for numbers in _in_order(grid[:, fits], costs, free, box.most[free], below):
        if not any(rules_out(cut, numbers) for cut in cuts):
            yield numbers


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


def _least_free(grid: IntVector, free: int, cuts: Sequence[Certificate], box: Box) -> IntVector:
    """Return the least number of the ``free`` stick that satisfies every cut; one too many where none does."""
    least = np.full(grid.shape[1], box.least[free], np.int64)
    for cut in cuts:
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


def _in_order(grid: IntVector, costs: Sequence[int], free: int, most: int, below: int) -> Iterator[Numbers]:
    listed: list[tuple[int, Numbers]] = []
    for first in map(tuple, grid.T.tolist()):
        cost = sum(c * n for c, n in zip(costs, first, strict=True))
        last = min(most, first[free] + (below - 1 - cost) // costs[free]) if costs[free] else first[free]
        for number in range(first[free], last + 1):
            more = costs[free] * (number - first[free])
            listed.append((cost + more, (*first[:free], number, *first[free + 1 :])))
    yield from (numbers for _, numbers in sorted(listed))
