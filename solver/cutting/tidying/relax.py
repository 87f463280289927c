"""The linear relaxation over a pool: a bound on one total, and how far each column is from being in a best plan.

Columns are brought into the linear program a batch at a time, those of least reduced cost first
("sifting", Bixby, Gregory, Lustig, Marsten and Shanno 1992), because a pool has many more columns
than rows. All in floating point: it only ever steers the tidy-up, no cost or bound rests on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from solver.cutting.tidying.pool import IntMatrix, Pool

BATCH = 60
"""Columns brought in at a time."""

SLACK = 1e-7
"""Reduced costs above minus this, relative to the largest coefficient, count as 0."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """``bound`` on the total, rounded down to be safe, and the reduced cost of every column of the pool."""

    bound: float
    reduced: NDArray[np.float64]


def relax(pool: Pool, name: str, caps: Mapping[str, int], start: IntMatrix) -> Relaxation:
    """Minimise the total ``name`` with every other total at most its cap; ``start`` is a plan within the caps."""
    goal = pool.totals[name].astype(np.float64)
    rows = np.column_stack([pool.yields, *(pool.totals[cap] for cap in caps)]).astype(np.float64)
    scale = np.maximum(1.0, np.abs(rows).max(axis=0, initial=0.0))
    scale[: pool.yields.shape[1]] = 1.0
    scaled = zip(caps.values(), scale[pool.yields.shape[1] :], strict=True)
    program = _Program(pool, [value / by for value, by in scaled])
    matrix = rows / scale
    unit = max(1.0, float(np.abs(goal).max(initial=0.0)))
    inside = start > 0
    program.add(np.flatnonzero(inside), matrix, goal / unit)
    while True:
        bound, duals = program.solve()
        reduced = goal / unit - matrix @ duals
        fresh = np.flatnonzero((reduced < -SLACK) & ~inside)
        if not fresh.size:
            return Relaxation((bound - SLACK) * unit, np.maximum(reduced, 0.0) * unit)
        fresh = fresh[np.argsort(reduced[fresh], kind="stable")[:BATCH]]
        inside[fresh] = True
        program.add(fresh, matrix, goal / unit)


class _Program:
    """The linear program over the columns brought in so far."""

    def __init__(self, pool: Pool, caps: list[float]) -> None:
        self.glop = pywraplp.Solver.CreateSolver("GLOP")
        self.rows = [self.glop.Constraint(float(d), float(d)) for d in pool.demand]
        self.rows += [self.glop.Constraint(0.0, float(limit)) for limit in pool.limits]
        self.rows += [self.glop.Constraint(0.0, cap) for cap in caps]

    def add(self, places: NDArray[np.intp], matrix: NDArray[np.float64], goal: NDArray[np.float64]) -> None:
        for j in places:
            variable = self.glop.NumVar(0.0, self.glop.infinity(), "")
            self.glop.Objective().SetCoefficient(variable, float(goal[j]))
            for r in np.flatnonzero(matrix[j]):
                self.rows[r].SetCoefficient(variable, float(matrix[j, r]))

    def solve(self) -> tuple[float, NDArray[np.float64]]:
        self.glop.Solve()
        return self.glop.Objective().Value(), np.array([row.dual_value() for row in self.rows])
