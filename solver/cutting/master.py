"""The linear program over the patterns known so far, kept warm between solves.

    minimise    sum cost_k x_p
    subject to  sum a_ip x_p + y_i' - y_i >= demand_i     every piece i; i' is the next longer one
                least_k <= sum x_p <= most_k              every stick
                x_p, y_i >= 0

``y_i`` pieces of kind ``i`` serve as the next shorter kind (exchange columns, Valerio de Carvalho 2005): a
longer piece is then never worth less than a shorter one, and far fewer rounds are needed on long lists.
Gilmore and Gomory 1961 with limited sticks (Alves and Valerio de Carvalho 2008, section 2). Solved by GLOP,
whose basis survives new columns and new right-hand sides. Its numbers are floats: they choose, they
never prove.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf

from solver.cutting.certificate import Counts
from solver.cutting.problem import CuttingProblem, Pattern
from solver.lp.glop import FINE_DUALS, NEARLY, Column, LinearProgram, Row, solved_anew
from solver.watch import Watch

FractionalUses = tuple[tuple[Pattern, float], ...]
"""How often each pattern is cut at a point of the linear program."""


@dataclass(frozen=True, slots=True)
class Point:
    """A solution of the linear program: its value, and what pieces and sticks are worth at it.

    ``charges``: what a stick is worth beside its price, above 0 where a limit binds, below 0 at a least
    count. ``missing``: whether some demand can't be met by these patterns within the counts.
    """

    value: float
    worth: tuple[float, ...]
    charges: tuple[float, ...]
    missing: bool


class Master:
    """Patterns of one problem; demands and stick counts may be changed between solves."""

    def __init__(self, problem: CuttingProblem, shorter: Sequence[int | None], missing_cost: int) -> None:
        """Start without patterns; a piece that they can't cut costs ``missing_cost``, more than a plan worth having."""
        self._problem = problem
        self._shorter = shorter
        self._missing_cost = missing_cost
        self._demands: Sequence[int] = [piece.demand for piece in problem.pieces]
        self._counts = Counts.of(problem.sticks)
        self._build(())

    @property
    def patterns(self) -> Sequence[Pattern]:
        """The patterns known so far, oldest first."""
        return list(self._columns)

    def restrict(self, demands: Sequence[int], counts: Counts) -> None:
        """Set what is still wanted and how many sticks of each kind may be used."""
        self._demands, self._counts = demands, counts
        for row, demand in zip(self._pieces, demands, strict=True):
            row.SetLb(demand)
        for row, least, most in zip(self._sticks, counts.least, counts.most, strict=True):
            row.SetBounds(least, inf if most is None else most)

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add those patterns that are new, and return how many were."""
        before = len(self._columns)
        for pattern in patterns:
            if pattern not in self._columns:
                self._columns[pattern] = self._column(pattern)
        return len(self._columns) - before

    def forget(self, most: int) -> None:
        """Keep only so many patterns, those that were least worth doing without at the point found last."""
        by_price = sorted(zip(self._solution.reduced_cost[self._first :], self._columns, strict=False))
        keep = {pattern for _, pattern in by_price[:most]}
        self._build(pattern for pattern in self._columns if pattern in keep)

    def solve(self, watch: Watch) -> Point | None:
        """Return the best point over the patterns known; None if stopped, or no point meets the counts."""
        if not solved_anew(lambda: self._program.optimal(watch), lambda: self._build(self._columns)):
            return None
        self._solution = self._program.solution()
        duals, size = list(self._solution.dual_value), len(self._problem.pieces)
        worth = tuple(max(0.0, dual) for dual in duals[:size])
        charges = tuple(-dual for dual in duals[size:])
        missing = any(amount > NEARLY for amount in self._solution.variable_value[:size])
        return Point(self._solution.objective_value, worth, charges, missing)

    def uses(self) -> FractionalUses:
        """Return the patterns used at the point found last."""
        amounts = self._solution.variable_value[self._first :]
        return tuple((p, x) for p, x in zip(self._columns, amounts, strict=False) if x > NEARLY)

    def _build(self, patterns: Iterable[Pattern]) -> None:
        self._program = LinearProgram(dual_tolerance=FINE_DUALS)
        self._pieces = [self._program.row(0) for _ in self._problem.pieces]
        self._sticks = [self._program.row(0) for _ in self._problem.sticks]
        self.restrict(self._demands, self._counts)
        for row in self._pieces:
            row.SetCoefficient(self._program.column(self._missing_cost), 1)
        for row, shorter in zip(self._pieces, self._shorter, strict=True):
            if shorter is not None:
                self._exchange(row, self._pieces[shorter])
        self._first = self._program.columns
        self._columns = {pattern: self._column(pattern) for pattern in patterns}

    def _exchange(self, longer: Row, shorter: Row) -> None:
        variable = self._program.column(0)
        longer.SetCoefficient(variable, -1)
        shorter.SetCoefficient(variable, 1)

    def _column(self, pattern: Pattern) -> Column:
        variable = self._program.column(self._problem.sticks[pattern.stick].cost)
        self._sticks[pattern.stick].SetCoefficient(variable, 1)
        for i, copies in Counter(pattern.pieces).items():
            self._pieces[i].SetCoefficient(variable, copies)
        return variable
