"""Linear programs for GLOP: rows and columns that may be added and changed between solves, its basis kept warm.

GLOP hears no cancel while it works, so it is asked for a counted number of steps at a time (``optimal``). It goes on
from the basis that it has come to, and long programs take as many steps in all as they would in one go. Steps are
counted, not timed: the same program ends at the same point.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import inf
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from solver.lp.lazily import pywraplp
from solver.watch import Watch

if TYPE_CHECKING:
    from ortools.linear_solver import linear_solver_pb2

WORK = 400_000
"""Simplex steps in a stride, times rows: some tenths of a second where rows are a thousand."""

NEARLY = 1e-6
"""What a linear program's numbers may be off by."""

FINE_DUALS = 1e-9
"""Tolerance of duals where they are cut into whole numbers."""

Row: TypeAlias = "pywraplp.Constraint"
Column: TypeAlias = "pywraplp.Variable"
Floats = NDArray[np.float64]


class LinearProgram:
    """A program to minimise. Rows and columns are GLOP's own: set their bounds and coefficients there."""

    def __init__(
        self, *, presolve: bool = False, dual_tolerance: float | None = None, most_steps: int | None = None
    ) -> None:
        """``most_steps``: simplex steps after which one solve gives up. Presolve keeps no basis."""
        self._glop = pywraplp.Solver.CreateSolver("GLOP")
        self._glop.Objective().SetMinimization()
        self._presolve, self._dual_tolerance = presolve, dual_tolerance
        if most_steps is not None:
            self._glop.SetSolverSpecificParametersAsString(f"max_number_of_iterations:{most_steps}")

    def row(self, least: float, most: float = inf) -> Row:
        """Add a row without columns."""
        return self._glop.Constraint(least, most)

    def column(self, cost: float) -> Column:
        """Add a column of 0 or more that is in no row."""
        column = self._glop.NumVar(0.0, inf, "")
        self.price(column, cost)
        return column

    def price(self, column: Column, cost: float) -> None:
        """Set what one of a column costs."""
        self._glop.Objective().SetCoefficient(column, cost)

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return int(self._glop.NumVariables())

    def solved(self, *, dual: bool = False) -> bool:
        """Solve in one go, and say whether GLOP found the optimum; ``dual``: by the dual simplex method."""
        return bool(self._glop.Solve(self._parameters(dual=dual)) == pywraplp.Solver.OPTIMAL)

    def optimal(self, watch: Watch, work: int = WORK) -> bool:
        """Solve in strides; False where GLOP finds no optimum, or ``watch`` stops it. ``work``: of a stride."""
        steps = max(1, work // max(1, self._glop.NumConstraints()))
        self._glop.SetSolverSpecificParametersAsString(f"max_number_of_iterations:{steps}")
        while not watch.stopped:
            self._glop.SetTimeLimit(1 + int(1000 * min(3600.0, watch.left)))
            if self.solved():
                return True
            if self._glop.iterations() < steps:
                return False
        return False

    def _parameters(self, *, dual: bool) -> pywraplp.MPSolverParameters:
        chosen = pywraplp.MPSolverParameters()
        if not self._presolve:
            chosen.SetIntegerParam(chosen.PRESOLVE, chosen.PRESOLVE_OFF)
        if self._dual_tolerance is not None:
            chosen.SetDoubleParam(chosen.DUAL_TOLERANCE, self._dual_tolerance)
        if dual:
            chosen.SetIntegerParam(chosen.LP_ALGORITHM, chosen.DUAL)
        return chosen

    def written_anew(self, rows: Iterable[Row], columns: Iterable[Column]) -> tuple[list[Row], list[Column]]:
        """Write the program anew, its basis forgotten, and return what these rows and columns are from now on."""
        from ortools.linear_solver import linear_solver_pb2  # noqa: PLC0415 - loaded with the solver, not before

        model = linear_solver_pb2.MPModelProto()
        self._glop.ExportModelToProto(model)
        places = [row.index() for row in rows], [column.index() for column in columns]
        self._glop = pywraplp.Solver.CreateSolver("GLOP")
        self._glop.LoadModelFromProto(model)
        fresh = self._glop.constraints(), self._glop.variables()
        return [fresh[0][n] for n in places[0]], [fresh[1][n] for n in places[1]]

    @property
    def value(self) -> float:
        """The least cost found."""
        return float(self._glop.Objective().Value())

    @property
    def amounts(self) -> Floats:
        """The amount of each column at the point found, in the order they came."""
        return np.array([column.solution_value() for column in self._glop.variables()])

    def solution(self) -> linear_solver_pb2.MPSolutionResponse:
        """Return the point found with its duals and reduced costs at once: faster than one by one."""
        from ortools.linear_solver import linear_solver_pb2  # noqa: PLC0415 - loaded with the solver, not before

        found = linear_solver_pb2.MPSolutionResponse()
        self._glop.FillSolutionResponseProto(found)
        return found


def solved_anew(solve: Callable[[], bool], write_anew: Callable[[], None]) -> bool:
    """Solve; if need be once more, written anew: GLOP can fail from an old basis, and has no way to forget it."""
    if solve():
        return True
    write_anew()
    return solve()
