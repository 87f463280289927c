"""The linear program over the dated patterns known so far, of all materials that share the van.

    minimise    sum cost_kp x_kp + missing_cost sum y_ki
    subject to  sum a_kip x_kp + y_ki >= demand_ki      every dated piece i of every material k
                sum x_kp <= limit_ks                    every limited stick s
                sum x_kp <= room_n                      every night n that p is carried, where the van is limited

Its numbers choose patterns and prove nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

from solver.cutting.problem import Pattern
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.remaining import Remaining

NEARLY = 1e-6
Column = tuple[int, Pattern]
"""A material by its place, and a pattern of it."""


@dataclass(frozen=True, slots=True)
class Part:
    """One material's problem, and what a step of its cost weighs beside those of the others."""

    problem: DatedProblem
    weight: float


@dataclass(frozen=True, slots=True)
class Worths:
    """What pieces, sticks and a place in the van each night are worth to one material, in steps of its cost."""

    values: tuple[float, ...]
    charges: tuple[float, ...]
    tolls: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class Point:
    """What things are worth, and how often each pattern is used."""

    worths: tuple[Worths, ...]
    uses: tuple[tuple[Column, float], ...]


class DatedProgram:
    """Patterns of several dated problems; what is wanted and what there is may be changed between solves."""

    def __init__(self, parts: Sequence[Part], van: Van) -> None:
        self._parts = parts
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._solver.Objective().SetMinimization()
        self._nights = {night: self._solver.Constraint(0, room) for night, room in van.items()}
        self._pieces = [[self._piece(part, k) for k in range(len(part.problem.pieces))] for part in parts]
        self._sticks = [[self._stick(supply.limit) for supply in part.problem.supplies] for part in parts]
        self._columns: dict[Column, pywraplp.Variable] = {}

    def _piece(self, part: Part, place: int) -> pywraplp.Constraint:
        piece, supplies = part.problem.pieces[place], part.problem.supplies
        row = self._solver.Constraint(piece.demand, self._solver.infinity())
        dear = 10 * part.weight * (1 + max(supply.cost for supply in supplies))
        row.SetCoefficient(self._variable(dear * (1 + piece.length / supplies[0].length)), 1)
        return row

    def _stick(self, limit: int | None) -> pywraplp.Constraint:
        return self._solver.Constraint(0, self._solver.infinity() if limit is None else limit)

    def restrict(self, remaining: Sequence[Remaining]) -> None:
        """Set what is still wanted, how many sticks are left, and the room in the van."""
        for left, pieces, sticks in zip(remaining, self._pieces, self._sticks, strict=True):
            for row, demand in zip(pieces, left.demands, strict=True):
                row.SetLb(demand)
            for row, limit in zip(sticks, left.limits, strict=True):
                row.SetUb(self._solver.infinity() if limit is None else limit)
            for night, row in self._nights.items():
                row.SetUb(left.room[night])

    def add(self, part: int, patterns: Iterable[Pattern]) -> int:
        """Add those patterns of a part that are new, and return how many were."""
        before = len(self._columns)
        for pattern in patterns:
            if (part, pattern) not in self._columns:
                self._columns[part, pattern] = self._column(part, pattern)
        return len(self._columns) - before

    def _column(self, part: int, pattern: Pattern) -> pywraplp.Variable:
        problem, weight = self._parts[part].problem, self._parts[part].weight
        cost = problem.supplies[pattern.stick].cost + problem.carrying_cost * problem.carried(pattern)
        variable = self._variable(weight * cost)
        self._sticks[part][pattern.stick].SetCoefficient(variable, 1)
        for night in problem.nights(pattern):
            if night in self._nights:
                self._nights[night].SetCoefficient(variable, 1)
        for i, copies in Counter(pattern.pieces).items():
            self._pieces[part][i].SetCoefficient(variable, copies)
        return variable

    def solve(self) -> Point | None:
        """Return the best point over the patterns known; None if the solver lost its footing."""
        if not (self._solved() or self._solved(dual=True)):
            return None
        uses = tuple((c, x) for c, v in self._columns.items() if (x := v.solution_value()) > NEARLY)
        return Point(tuple(self._worths(k) for k in range(len(self._parts))), uses)

    def _solved(self, *, dual: bool = False) -> bool:
        """Whether the solver finds the best point; by the dual simplex method where the primal lost its footing."""
        how = pywraplp.MPSolverParameters()
        if dual:
            how.SetIntegerParam(how.LP_ALGORITHM, how.DUAL)
        return bool(self._solver.Solve(how) == pywraplp.Solver.OPTIMAL)

    def _worths(self, part: int) -> Worths:
        weight = self._parts[part].weight
        return Worths(
            tuple(max(0.0, row.dual_value() / weight) for row in self._pieces[part]),
            tuple(max(0.0, -row.dual_value() / weight) for row in self._sticks[part]),
            {night: max(0.0, -row.dual_value() / weight) for night, row in self._nights.items()},
        )

    def _variable(self, cost: float) -> pywraplp.Variable:
        variable = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(variable, cost)
        return variable
