"""How much the rest of a stick can be worth at most, by a knapsack on a coarse grid with lengths rounded down.

A table by piece and cell (backward dynamic programming over the pieces): what room ``r`` and the pieces
from ``j`` on can be worth is at most ``rest[j][r // cell]``, because ``sum floor(l / cell) <= floor(r / cell)``
for whatever fits in ``r``.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from solver.cutting.pricing import IntVector
from solver.cutting.problem import CuttingProblem, Stick
from solver.cutting.reachable import halves


class Ceiling:
    """The table for one set of values.

    ``pieces`` lists the pieces of the table, longest first: those of worth that need no factory end.
    ``starts`` are the ways to begin a stick: nothing, or a piece at its left end, its right end, or both.
    """

    def __init__(
        self, problem: CuttingProblem, sticks: Sequence[Stick], cell: int, values: IntVector, copies: IntVector
    ) -> None:
        """``cell``: width of a cell in units of length."""
        self.sticks, self.cell, self.values = sticks, cell, values
        self.lengths = np.array([piece.length for piece in problem.pieces], np.int64)
        widest = max(stick.length for stick in sticks)
        self.copies = np.minimum(copies, widest // self.lengths)
        worthy = [i for i in range(len(values)) if values[i] > 0 and self.copies[i] > 0]
        self.pieces = [i for i in worthy if not (problem.pieces[i].left or problem.pieces[i].right)]
        self.starts = _Starts(problem, worthy, values)
        self.rest = self._table(widest // cell + 1)

    def _table(self, cells: int) -> IntVector:
        rest = np.zeros((len(self.pieces) + 1, cells), np.int64)
        for j in reversed(range(len(self.pieces))):
            i = self.pieces[j]
            rest[j] = rest[j + 1]
            for times in halves(int(self.copies[i])):
                _add(rest[j], times * int(self.lengths[i]) // self.cell, times * int(self.values[i]))
        return rest

    def open(self, k: int, used: IntVector, ends: IntVector) -> NDArray[np.bool_]:
        """Say in which states a stick ``k`` can be: its length and its factory ends suffice."""
        stick = self.sticks[k]
        fits: NDArray[np.bool_] = (used <= stick.length) & ((ends & ~(stick.left + 2 * stick.right)) == 0)
        return fits

    def most(self, k: int, j: int, used: IntVector, worth: IntVector, ends: IntVector) -> IntVector:
        """Return what stick ``k`` can be worth at most from these states and piece ``j`` on; -1 if it can't be."""
        room = np.maximum(self.sticks[k].length - used, 0) // self.cell
        return np.where(self.open(k, used, ends), worth + self.rest[j][room], -1)

    def tops(self) -> tuple[int, ...]:
        """Return what each stick can be worth at most."""
        start = self.starts
        most = [self.most(k, 0, start.used, start.worth, start.ends) for k in range(len(self.sticks))]
        return tuple(int(values.max()) for values in most)


class _Starts:
    """All ways to put pieces at the factory ends of a stick, the empty way first."""

    def __init__(self, problem: CuttingProblem, worthy: Sequence[int], values: IntVector) -> None:
        pieces = problem.pieces
        lefts = [[], *([i] for i in worthy if pieces[i].left and not pieces[i].right)]
        rights = [[], *([i] for i in worthy if pieces[i].right and not pieces[i].left)]
        self.held = [left + right for left, right in product(lefts, rights)]
        self.used = np.array([sum(pieces[i].length for i in held) for held in self.held], np.int64)
        self.worth = np.array([sum(int(values[i]) for i in held) for held in self.held], np.int64)
        self.ends = np.array([sum(pieces[i].left + 2 * pieces[i].right for i in held) for held in self.held], np.int64)


def _add(row: IntVector, cells: int, value: int) -> None:
    """Let a part of this width and value be used once more, or not."""
    if cells == 0:
        row += value
    elif cells < len(row):
        np.maximum(row[cells:], row[:-cells] + value, out=row[cells:])
