"""A cheaper plan over the patterns of one material, by SCIP: good where patterns hold few pieces, and only a start."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from ortools.linear_solver import pywraplp

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem, Van

NODES = 300
"""Nodes that are searched, at most."""


def improved(
    problem: DatedProblem, patterns: Sequence[Pattern], start: Mapping[Pattern, int], van: Van, watch: Watch
) -> Mapping[Pattern, int]:
    """Return the cheapest plan found that cuts everything, within the van's limit; else the start."""
    if watch.stopped:
        return start
    scip = pywraplp.Solver.CreateSolver("SCIP")
    counts = [scip.IntVar(0, scip.infinity(), "") for _ in patterns]
    _state(scip, counts, problem, patterns, van)
    scip.SetHint(counts, [start.get(pattern, 0) for pattern in patterns])
    scip.SetSolverSpecificParametersAsString(f"limits/nodes = {NODES}\n")
    scip.SetTimeLimit(max(1, int(watch.left * 1000)))
    if scip.Solve() not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return start
    found = Counter({p: n for p, count in zip(patterns, counts, strict=True) if (n := round(count.solution_value()))})
    return found if _cuts_all(problem, found) else start


def _state(
    scip: pywraplp.Solver, counts: Sequence[pywraplp.Variable], problem: DatedProblem,
    patterns: Sequence[Pattern], van: Van,
) -> None:  # fmt: skip
    infinity = scip.infinity()
    pieces = [scip.Constraint(piece.demand, infinity) for piece in problem.pieces]
    sticks = [scip.Constraint(0, infinity if s.limit is None else s.limit) for s in problem.supplies]
    nights = {night: scip.Constraint(0, room) for night, room in van.items()}
    for count, pattern in zip(counts, patterns, strict=True):
        scip.Objective().SetCoefficient(count, problem.supplies[pattern.stick].cost)
        sticks[pattern.stick].SetCoefficient(count, 1)
        for i, copies in Counter(pattern.pieces).items():
            pieces[i].SetCoefficient(count, copies)
        for night in problem.nights(pattern):
            if night in nights:
                nights[night].SetCoefficient(count, 1)


def _cuts_all(problem: DatedProblem, plan: Mapping[Pattern, int]) -> bool:
    """Whether a plan cuts every piece within the limits, in whole numbers: SCIP answers within a tolerance."""
    made: Counter[int] = Counter()
    used: Counter[int] = Counter()
    for pattern, times in plan.items():
        used[pattern.stick] += times
        for i in pattern.pieces:
            made[i] += times
    return all(made[i] >= piece.demand for i, piece in enumerate(problem.pieces)) and all(
        supply.limit is None or used[k] <= supply.limit for k, supply in enumerate(problem.supplies)
    )
