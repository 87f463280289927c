"""Numbers of sticks of each kind: ranges of them listed, and bounds over ranges by a linear program.

``Box`` is a range for each kind; ``candidates`` lists the numbers within it, cheapest first. The linear program has a
handful of variables, and one row per certificate: GLOP's duals weigh the rows into one; the bound is that one row's,
in whole numbers, and holds whatever the weights are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from math import inf, prod

import numpy as np

from solver.cutting.bounds import Certificate
from solver.cutting.pricing.protocol import IntVector
from solver.lp.glop import LinearProgram, Row, solved_anew
from solver.watch import Watch

MOST_BITS = 46
"""Bits of a cut's worth when numbers are listed; it is checked in full afterwards."""

Numbers = tuple[int, ...]
"""How many sticks of each kind."""
FINE = 2**40
"""Parts that the weights of rows are cut into."""
DEAR = 1000
"""What a unit of worth costs that sticks do not have: many times what it costs in sticks."""
MOST_STEPS = 1000
"""Simplex steps after which a linear program of a handful of variables must be running in circles."""


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
        """Return ``factors`` times the numbers of each of the ``columns`` (rows, choices), constants included."""
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


class CountProgram:
    """Bounds over boxes of numbers under the cuts added so far."""

    def __init__(self, costs: Sequence[int]) -> None:
        """``costs``: of one stick of each kind."""
        self.cuts: list[Certificate] = []
        self._costs = costs
        self._build()

    def add(self, cut: Certificate) -> None:
        """Add a cut."""
        self.cuts.append(cut)
        self._rows.append(self._row(cut))

    def least(self, objective: Sequence[int], box: Box, below: int | None = None) -> int:
        """Return an exact lower bound on ``objective`` over a box.

        Numbers that cost ``below`` or more are not considered.
        """
        if not self._solved(objective, box, below):
            return _least_over(box, objective)
        weighed = [(self._weight(row) * FINE // cut.scale, cut) for row, cut in zip(self._rows, self.cuts, strict=True)]
        cap = 0 if below is None else self._weight(self._cap)
        net = sum(weight * cut.worth for weight, cut in weighed) - FINE * cap * ((below or 1) - 1)
        prices = [
            FINE * (FINE * gain + cap * cost) - sum(weight * cut.ceilings[k] for weight, cut in weighed)
            for k, (gain, cost) in enumerate(zip(objective, self._costs, strict=True))
        ]
        return -(-(net + _least_over(box, prices)) // FINE**2)

    def weighty(self, objective: Sequence[int], box: Box, below: int | None = None) -> list[Certificate]:
        """Return the cuts that the least ``objective`` over a box rests on where numbers cost less than ``below``."""
        if not self._solved(objective, box, below):
            return []
        return [cut for row, cut in zip(self._rows, self.cuts, strict=True) if self._weight(row)]

    def _weight(self, row: Row) -> int:
        """Return how much a row counts in the bound, in ``FINE`` parts."""
        return int(abs(row.dual_value()) * FINE)

    def narrowed(self, box: Box, below: int) -> Box | None:
        """Return the box with each range cut to what the cuts and a cost less than ``below`` allow; None if empty."""
        for k in range(len(self._costs)):
            if box.least[k] < box.most[k]:
                one = [int(j == k) for j in range(len(self._costs))]
                least = max(box.least[k], self.least(one, box, below))
                most = min(box.most[k], -self.least([-x for x in one], box, below))
                if least > most:
                    return None
                box = box.part(box.bound, k, least, most)
        return replace(box, bound=max(box.bound, self.least(self._costs, box)))

    def _solved(self, objective: Sequence[int], box: Box, below: int | None) -> bool:
        return solved_anew(lambda: self._optimal(objective, box, below), self._build)

    def _optimal(self, objective: Sequence[int], box: Box, below: int | None) -> bool:
        self._cap.SetUb(inf if below is None else below - 1)
        for variable, gain, least, most in zip(self._variables, objective, box.least, box.most, strict=True):
            variable.SetBounds(least, most)
            self._linear.price(variable, gain)
        return self._linear.solved()

    def _build(self) -> None:
        self._linear = LinearProgram(presolve=True, most_steps=MOST_STEPS)
        self._variables = [self._linear.column(0) for _ in self._costs]
        self._cap = self._linear.row(-inf)
        for variable, cost in zip(self._variables, self._costs, strict=True):
            self._cap.SetCoefficient(variable, cost)
        self._rows = [self._row(cut) for cut in self.cuts]

    def _row(self, cut: Certificate) -> Row:
        """Write a cut in units of cost; worth that is missing may be bought dear, so that every box has weights."""
        row = self._linear.row(cut.worth / cut.scale)
        for variable, ceiling in zip(self._variables, cut.ceilings, strict=True):
            row.SetCoefficient(variable, ceiling / cut.scale)
        row.SetCoefficient(self._linear.column(DEAR), 1)
        return row


def _least_over(box: Box, prices: Sequence[int]) -> int:
    return sum(
        price * (most if price < 0 else least) for price, least, most in zip(prices, box.least, box.most, strict=True)
    )
