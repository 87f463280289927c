"""The linear program over the dated patterns known so far.

    minimise    sum cost_k x_p + missing_cost sum y_i
    subject to  sum a_ip x_p + y_i >= demand_i      every dated piece i
                sum x_p <= limit_k                  every limited stick k
                sum x_p <= room_n                   every night n that p is carried, where the van is limited

Its numbers choose patterns and prove nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

from solver.cutting.problem import Pattern
from solver.weekly.dated import DatedProblem, Van

NEARLY = 1e-6


@dataclass(frozen=True, slots=True)
class Point:
    """What pieces, sticks and a place in the van each night are worth, and how often each pattern is used."""

    values: tuple[float, ...]
    charges: tuple[float, ...]
    tolls: Mapping[int, float]
    uses: tuple[tuple[Pattern, float], ...]


class DatedProgram:
    """Patterns of one dated problem; demands and limits may be changed between solves."""

    def __init__(self, problem: DatedProblem, van: Van) -> None:
        self._problem = problem
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._solver.Objective().SetMinimization()
        infinity = self._solver.infinity()
        dear = 10 * (1 + max(supply.cost for supply in problem.supplies))
        self._pieces = [self._solver.Constraint(piece.demand, infinity) for piece in problem.pieces]
        self._sticks = [self._solver.Constraint(0, infinity if s.limit is None else s.limit) for s in problem.supplies]
        for row, piece in zip(self._pieces, problem.pieces, strict=True):
            row.SetCoefficient(self._variable(dear * (1 + piece.length / problem.supplies[0].length)), 1)
        self._nights = {night: self._solver.Constraint(0, room) for night, room in van.items()}
        self._columns: dict[Pattern, pywraplp.Variable] = {}

    @property
    def patterns(self) -> list[Pattern]:
        """The patterns known so far, oldest first."""
        return list(self._columns)

    def restrict(self, demands: Sequence[int], limits: Sequence[int | None], van: Van) -> None:
        """Set what is still wanted, how many sticks are left, and the room in the van."""
        for night, row in self._nights.items():
            row.SetUb(van[night])
        for row, demand in zip(self._pieces, demands, strict=True):
            row.SetLb(demand)
        for row, limit in zip(self._sticks, limits, strict=True):
            row.SetUb(self._solver.infinity() if limit is None else limit)

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add those patterns that are new, and return how many were."""
        before = len(self._columns)
        for pattern in patterns:
            if pattern not in self._columns:
                cost = self._problem.supplies[pattern.stick].cost
                variable = self._variable(cost + self._problem.carrying_cost * self._problem.carried(pattern))
                self._sticks[pattern.stick].SetCoefficient(variable, 1)
                for night in self._problem.nights(pattern):
                    if night in self._nights:
                        self._nights[night].SetCoefficient(variable, 1)
                for i, copies in Counter(pattern.pieces).items():
                    self._pieces[i].SetCoefficient(variable, copies)
                self._columns[pattern] = variable
        return len(self._columns) - before

    def solve(self) -> Point | None:
        """Return the best point over the patterns known; None if the solver lost its footing."""
        if self._solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        values = tuple(max(0.0, row.dual_value()) for row in self._pieces)
        charges = tuple(max(0.0, -row.dual_value()) for row in self._sticks)
        tolls = {night: max(0.0, -row.dual_value()) for night, row in self._nights.items()}
        uses = tuple((p, x) for p, v in self._columns.items() if (x := v.solution_value()) > NEARLY)
        return Point(values, charges, tolls, uses)

    def _variable(self, cost: float) -> pywraplp.Variable:
        variable = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(variable, cost)
        return variable
