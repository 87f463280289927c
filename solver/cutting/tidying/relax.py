"""The linear relaxation over a pool: a bound on one total, and how far each column is from being in a best plan.

Columns are brought into the linear program a batch at a time, those of least reduced cost first
("sifting", Bixby, Gregory, Lustig, Marsten and Shanno 1992), because a pool has many more columns
than rows. All in floating point: it only ever steers the tidy-up, no cost or bound rests on it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.tidying.pool import Aim, IntMatrix, Pool, go_on
from solver.lp.glop import LinearProgram
from solver.watch import Watch

Floats = NDArray[np.float64]

BATCH = 60
"""Columns brought in at a time."""

SLACK = 1e-7
"""Reduced costs above minus this, relative to the largest coefficient, count as 0."""

LOOSE = 1e-6
"""How much a scaled cap is let out, so that the plan in hand, which may just meet it, stays inside."""


@dataclass(frozen=True, slots=True)
class Bounded:
    """``bound`` on the total, rounded down to be safe, and the reduced cost of every column of the pool.

    Where GLOP gave up both are 0, which says nothing and is never wrong.
    """

    bound: float
    reduced: Floats


@dataclass(frozen=True, slots=True)
class RowDuals:
    """What one more piece, limited stick or unit of a cap would change the least total by, one entry each."""

    bound: float
    pieces: Floats
    limits: Floats
    caps: Floats


class Relaxation:
    """The relaxed aim over the columns added so far."""

    def __init__(self, pool: Pool, aim: Aim) -> None:
        """Take demand, limits and scale from ``pool``, but none of its columns yet."""
        name, caps = aim.name, aim.caps
        self.name, self.caps = name, tuple(caps)
        self._program = LinearProgram(presolve=True)
        self.unit = float(max(1, pool.totals[name].max(initial=1)))
        self.scales = np.array([max(1, pool.totals[cap].max(initial=1)) for cap in caps], np.float64)
        self.rows = [self._program.row(float(d), float(d)) for d in pool.demand]
        self.rows += [self._program.row(0.0, float(limit)) for limit in pool.limits]
        self.rows += [
            self._program.row(0.0, cap / by + LOOSE) for cap, by in zip(caps.values(), self.scales, strict=True)
        ]
        self.pieces = len(pool.demand)

    def matrix(self, pool: Pool) -> tuple[Floats, Floats]:
        """Return the scaled rows (columns, rows) of a pool's columns and what each adds to the scaled goal."""
        caps = [pool.totals[cap] / by for cap, by in zip(self.caps, self.scales, strict=True)]
        return np.column_stack([pool.yields, *caps]).astype(np.float64), pool.totals[self.name] / self.unit

    def add(self, matrix: Floats, goal: Floats) -> None:
        """Add these columns, as ``matrix`` gives them."""
        for row, gain in zip(matrix, goal, strict=True):
            variable = self._program.column(float(gain))
            for r in np.flatnonzero(row):
                self.rows[r].SetCoefficient(variable, float(row[r]))

    def solve(self) -> tuple[float, Floats] | None:
        """Return the least scaled total and the scaled duals of all rows; None where GLOP gives up."""
        if not self._program.solved():
            return None
        return self._program.value, np.array([row.dual_value() for row in self.rows])

    def duals(self) -> RowDuals | None:
        """Solve, and return bound and duals in the pool's own units; None where GLOP gives up."""
        if (solved := self.solve()) is None:
            return None
        bound, scaled = solved
        caps = scaled[len(scaled) - len(self.caps) :] / self.scales
        limits = scaled[self.pieces : len(scaled) - len(self.caps)]
        return RowDuals(
            (bound - SLACK) * self.unit, scaled[: self.pieces] * self.unit, limits * self.unit, caps * self.unit
        )


def relax(pool: Pool, aim: Aim, start: IntMatrix, watch: Watch) -> Bounded:
    """Relax the aim, which must not count patterns; ``start`` is a plan within its caps. Raises ``OutOfTime``."""
    program = Relaxation(pool, aim)
    matrix, goal = program.matrix(pool)
    inside = start > 0
    program.add(matrix[inside], goal[inside])
    while True:
        go_on(watch)
        if (solved := program.solve()) is None:
            return Bounded(0.0, np.zeros(len(pool.columns)))
        bound, duals = solved
        reduced = goal - matrix @ duals
        fresh = np.flatnonzero((reduced < -SLACK) & ~inside)
        if not fresh.size:
            return Bounded((bound - SLACK) * program.unit, np.maximum(reduced, 0.0) * program.unit)
        fresh = fresh[np.argsort(reduced[fresh], kind="stable")[:BATCH]]
        inside[fresh] = True
        program.add(matrix[fresh], goal[fresh])
