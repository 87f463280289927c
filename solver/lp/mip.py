"""Integer programs beside the watch: HiGHS, and SCIP from a plan that is known, each in a counted number of nodes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from math import inf
from threading import Thread
from typing import TypeAlias

from solver.lp.lazily import highs_pb2, mathopt, pywraplp
from solver.watch import Watch

POLL = 0.05
"""Seconds between two looks at the watch while a program is searched."""

ON_THE_WALL = 1.0
"""HiGHS goes by the clock on the wall. So many of its seconds are one of the watch: more where that counts work."""


def searched(
    model: mathopt.Model, nodes: int, settings: Mapping[str, float], watch: Watch
) -> mathopt.SolveResult | None:
    """Return what HiGHS has to say of a program after so many ``nodes`` at the most; None where ``watch`` struck first.

    ``settings`` are HiGHS's own, by name. HiGHS hears no interrupt: once ``watch`` stops it, its thread is left to run
    into the watch's deadline. The interpreter waits for that when it ends, for it would abort if the thread came back
    meanwhile.
    """
    results: list[mathopt.SolveResult] = []
    parameters = _parameters(nodes, settings, watch.left)
    work = Thread(target=lambda: results.append(mathopt.solve(model, mathopt.SolverType.HIGHS, params=parameters)))
    work.start()
    while work.is_alive() and not watch.stopped:
        work.join(POLL)
    return results[0] if results else None


def relaxed(model: mathopt.Model, steps: int, watch: Watch) -> mathopt.SolveResult | None:
    """Return what GLOP finds of a program without whole numbers, in so many simplex ``steps``; None for no optimum."""
    limit = dt.timedelta(seconds=max(0.01, min(watch.left * ON_THE_WALL, 1e6)))
    parameters = mathopt.SolveParameters(time_limit=limit, iteration_limit=steps)
    result = mathopt.solve(model, mathopt.SolverType.GLOP, params=parameters)
    return result if result.termination.reason is mathopt.TerminationReason.OPTIMAL else None


def _parameters(nodes: int, settings: Mapping[str, float], seconds: float) -> mathopt.SolveParameters:
    options = highs_pb2.HighsOptionsProto()
    options.int_options.update({"threads": 1, "mip_max_nodes": nodes, "random_seed": 1})
    options.double_options.update(settings)
    options.string_options["parallel"] = "off"
    limit = dt.timedelta(seconds=max(0.01, min(seconds * ON_THE_WALL, 1e6)))
    return mathopt.SolveParameters(time_limit=limit, highs=options)


MANNER = """
limits/gap = 0
numerics/feastol = 1e-9
separating/maxroundsroot = 5
separating/maxrounds = 1
presolving/maxrestarts = 0
propagating/probing/maxprerounds = 0
branching/pscost/priority = 100000
"""
"""How SCIP searches: to no gap at all, where OR-Tools would be content with 1e-4 of the total; few rounds of cuts,
no probing and no strong branching, which on programs of 20 to 60 rows brings nearly the whole bound in a fifth of
the time."""
_AROUND = ("rins", "crossover", "gins", "alns", "rens", "locks", "mpec", "multistart", "completesol", "feaspump")
LEAN = "".join(
    f"{setting}\n"
    for setting in (
        "separating/maxroundsroot = 2",
        "separating/maxrounds = 0",
        *(f"heuristics/{name}/freq = -1" for name in _AROUND),
    )
)
"""Beside that where columns are tied to yes or no: hardly a cut, and no searches around solutions, which take a third
of the time there and bring nothing."""
POLL = 0.1
"""Seconds between two looks at the watch while SCIP works."""

Row: TypeAlias = "pywraplp.Constraint"
Column: TypeAlias = "pywraplp.Variable"


class IntegerProgram:
    """A program in whole numbers to minimise, with rows and columns of SCIP's own: set their coefficients there.

    SCIP answers within a tolerance: what it finds must be held against the rows in whole numbers.
    """

    def __init__(self) -> None:
        self._scip = pywraplp.Solver.CreateSolver("SCIP")

    def row(self, least: float = -inf, most: float = inf) -> Row:
        """Add a row without columns."""
        return self._scip.Constraint(least, most)

    def column(self, most: int) -> Column:
        """Add a column of 0 to ``most`` that is in no row and costs nothing."""
        return self._scip.IntVar(0, most, "")

    def price(self, column: Column, cost: float) -> None:
        """Set what one of a column costs."""
        self._scip.Objective().SetCoefficient(column, cost)

    def hint(self, values: Iterable[tuple[Column, int]]) -> None:
        """Hand over a solution to begin from."""
        columns, numbers = zip(*values, strict=True)
        self._scip.SetHint(columns, numbers)

    def searched(
        self, columns: Sequence[Column], nodes: int, watch: Watch, *, lean: bool = False
    ) -> tuple[list[int], bool] | None:
        """Search so many ``nodes`` at the most, or until ``watch`` stops it; ``lean`` is how.

        Returns the numbers of ``columns`` in the best solution found and whether there is none better, or None.
        """
        self._scip.SetSolverSpecificParametersAsString(f"limits/nodes = {nodes}\n{MANNER}{LEAN * lean}")
        self._scip.SetTimeLimit(max(1, int(watch.left * 1000)))
        status: list[int] = []
        search = Thread(target=lambda: status.append(self._scip.Solve()))
        search.start()
        while search.is_alive():
            search.join(POLL)
            if watch.stopped:
                self._scip.InterruptSolve()
        if status[0] not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
            return None
        return [round(column.solution_value()) for column in columns], status[0] == pywraplp.Solver.OPTIMAL
