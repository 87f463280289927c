"""GLOP in strides: it hears no cancel while it works, so it is asked for a counted number of steps at a time.

It goes on from the basis that it has come to, and long programs take as many steps in all as they would in
one go. Steps are counted, not timed: the same program ends at the same point.
"""

from __future__ import annotations

from ortools.linear_solver import pywraplp

from solver.watch import Watch

WORK = 400_000
"""Simplex steps in a stride, times rows: some tenths of a second where rows are a thousand."""


def optimal(solver: pywraplp.Solver, options: pywraplp.MPSolverParameters, watch: Watch, work: int = WORK) -> bool:
    """Solve to the optimum; False where GLOP finds none, or ``watch`` stops it. ``work``: of a stride."""
    steps = max(1, work // max(1, solver.NumConstraints()))
    solver.SetSolverSpecificParametersAsString(f"max_number_of_iterations:{steps}")
    while not watch.stopped:
        solver.SetTimeLimit(1 + int(1000 * min(3600.0, watch.left)))
        if solver.Solve(options) == pywraplp.Solver.OPTIMAL:
            return True
        if solver.iterations() < steps:
            return False
    return False
