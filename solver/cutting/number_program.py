"""A linear program over the numbers of sticks: a handful of variables, one row per certificate.

GLOP's duals weigh the rows into one; the bound is that one row's, in whole numbers, and holds whatever
the weights are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from solver.cutting.certificate import Certificate
from solver.cutting.number_grid import Box
from solver.lp.glop import LinearProgram, Row, solved_anew

FINE = 2**40
"""Parts that the weights of rows are cut into."""

DEAR = 1000
"""What a unit of worth costs that sticks do not have: many times what it costs in sticks."""

MOST_STEPS = 1000
"""Simplex steps after which a linear program of a handful of variables must be running in circles."""


class NumberProgram:
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

    def weighty(self, objective: Sequence[int], box: Box) -> list[Certificate]:
        """Return the cuts that the least ``objective`` over a box rests on."""
        if not self._solved(objective, box, None):
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
