"""Pricing for sticks too wide for a table by length: two coarse grids and an exact search between them.

With ticks of 1/8128 in a stick is a million units wide. Lengths rounded **up** to a coarse grid give
patterns that really fit; rounded **down** they give ceilings that are really above (the scaling of
Ibarra and Kim 1975, used on both sides). As long as the first finds patterns worth adding, that is all
that column generation needs. When it finds none and the ceilings still allow some, the exact search
(``labels``) settles what lies between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from solver.cutting.pricing.labels import CompletionBound, LabelSearch
from solver.cutting.pricing.protocol import IntVector, Prices
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import CuttingProblem
from solver.watch import Watch

CELLS = 8192
"""Cells of the coarse grid over the longest stick, unless told otherwise."""


class ScaledPricer:
    """Prices sticks of any width at the cost of a table of ``CELLS`` columns."""

    def __init__(self, problem: CuttingProblem, priced: int, cells: int = CELLS, states: int | None = None) -> None:
        """``priced``: only sticks before this index are priced; ``cells``: how fine the coarse grid is.

        ``states``: what exact searches may look at in all; None is as much as it takes.
        """
        self._problem = problem
        self._sticks = problem.sticks[:priced]
        self._cell = max(1, -(-max((stick.length for stick in self._sticks), default=0) // cells))
        self._states = states
        self._coarse = TablePricer(_coarser(problem, priced, self._cell), priced)

    def price(self, values: IntVector, copies: IntVector, floors: Sequence[int], watch: Watch) -> Prices:
        """See ``Pricer.price``; ceilings are sharp where no coarse pattern is worth more than its floor."""
        found = self._coarse.price(values, copies, floors, watch).patterns
        floors = floors[: len(self._sticks)]
        ceiling = CompletionBound(self._problem, self._sticks, self._cell, values, copies)
        ceilings = ceiling.tops()
        if found or all(top <= floor for top, floor in zip(ceilings, floors, strict=True)):
            return Prices(ceilings, found)
        search = LabelSearch(ceiling, floors)
        search.run(watch, self._states)
        if self._states is not None:
            self._states -= search.looked_at
        return Prices(search.ceilings(ceilings), search.patterns())


def _coarser(problem: CuttingProblem, priced: int, cell: int) -> CuttingProblem:
    """Return the problem on the grid, pieces rounded up and sticks down: what fits there fits."""
    sticks = tuple(replace(stick, length=stick.length // cell) for stick in problem.sticks[:priced])
    pieces = tuple(replace(piece, length=-(-piece.length // cell)) for piece in problem.pieces)
    return CuttingProblem(sticks, pieces)
