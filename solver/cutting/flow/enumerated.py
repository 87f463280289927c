"""The linear program over patterns that are all written down, with a row for each odd set.

    minimise    sum cost_k x_p
    subject to  sum a_ip x_p  = demand_i                                 every piece
                least_k <= sum x_p <= most_k                             every stick
                sum { x_p : p holds an odd number of S } >= 1            every odd set S
                x_p >= 0

One GLOP, whose basis survives new rows; patterns left out are held at 0. What a row lacks or has too much is
dear. Its numbers are floats: they choose, they never prove.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from solver.cutting.certificate import Counts
from solver.cutting.flow.node import Space
from solver.cutting.flow.oddness import OddSet
from solver.cutting.problem import Pattern
from solver.lp.glop import LinearProgram, Row
from solver.watch import Watch

DEAR = 10
"""What a row costs for each that it lacks or has too many, in times the cost of the dearest stick."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Point:
    """How often each pattern left is cut, what pieces and cuts are worth, what sticks are charged beside their cost."""

    amounts: Floats
    pieces: Floats
    charges: Floats
    cuts: Floats


class Enumerated:
    """Patterns left: their ``sticks``, ``held[i, p]`` of each piece, and ``odd[S, p]``, 1 where a cut counts them."""

    def __init__(self, space: Space, counts: Counts, patterns: Sequence[Pattern]) -> None:
        """Start with all patterns, and no cuts."""
        self._all = patterns
        self._left = np.arange(len(patterns))
        self._cuts: dict[OddSet, Row] = {}
        self.held = np.zeros((len(space.demands), len(patterns)), np.int64)
        for p, pattern in enumerate(patterns):
            np.add.at(self.held[:, p], list(pattern.pieces), 1)
        self.odd = np.zeros((0, len(patterns)), np.int64)
        self.sticks = np.array([pattern.stick for pattern in patterns], np.int64)
        self._write(space, counts)

    def _write(self, space: Space, counts: Counts) -> None:
        self._program = LinearProgram()
        self._pieces = [self._program.row(demand, demand) for demand in space.demands]
        most = (inf if limit is None else limit for limit in counts.most)
        self._sticks = [self._program.row(low, high) for low, high in zip(counts.least, most, strict=True)]
        self._dear = DEAR * max(1, *space.costs[: space.reduced.priced])
        self._columns = [self._program.column(space.costs[k]) for k in self.sticks.tolist()]
        for column, pattern in zip(self._columns, self._all, strict=True):
            self._sticks[pattern.stick].SetCoefficient(column, 1)
        for i, p in np.argwhere(self.held).tolist():
            self._pieces[i].SetCoefficient(self._columns[p], int(self.held[i, p]))
        for row in self._pieces:
            row.SetCoefficient(self._program.column(self._dear), 1)
            row.SetCoefficient(self._program.column(self._dear), -1)

    @property
    def patterns(self) -> Sequence[Pattern]:
        """The patterns left."""
        return [self._all[p] for p in self._left.tolist()]

    def keep(self, good: NDArray[np.bool_]) -> None:
        """Leave out the patterns that are not marked."""
        for p in self._left[~good].tolist():
            self._columns[p].SetUb(0.0)
        self._left, self.sticks = self._left[good], self.sticks[good]
        self.held, self.odd = self.held[:, good], self.odd[:, good]

    def cut(self, sets: Sequence[OddSet]) -> int:
        """Add those cuts that are new, and return how many were."""
        fresh = [kinds for kinds in sets if kinds not in self._cuts]
        for kinds in fresh:
            odd = self.held[list(kinds)].sum(axis=0) % 2
            row = self._cuts[kinds] = self._program.row(1)
            row.SetCoefficient(self._program.column(self._dear), 1)
            for p in self._left[odd == 1].tolist():
                row.SetCoefficient(self._columns[p], 1)
            self.odd = np.vstack([self.odd, odd])
        return len(fresh)

    def solve(self, watch: Watch) -> Point | None:
        """Return the best point, or None if stopped or GLOP fails."""
        if not self._program.optimal(watch):
            return None
        found = self._program.solution()
        amounts, duals = np.array(found.variable_value[: len(self._all)]), np.array(found.dual_value)
        pieces, sticks, cuts = np.split(duals, [len(self._pieces), len(self._pieces) + len(self._sticks)])
        return Point(amounts[self._left], pieces, -sticks, np.maximum(0.0, cuts))
