"""Column generation: the linear program over all patterns, though only a few are ever written down.

``Master`` is the program over the patterns known so far, kept warm between solves::

    minimise    sum cost_k x_p
    subject to  sum a_ip x_p + y_i' - y_i >= demand_i     every piece i; i' is the next longer one
                least_k <= sum x_p <= most_k              every stick
                x_p, y_i >= 0

``y_i`` pieces of kind ``i`` serve as the next shorter kind (exchange columns, Valerio de Carvalho 2005): a
longer piece is then never worth less than a shorter one, and far fewer rounds are needed on long lists.
Gilmore and Gomory 1961 with limited sticks (Alves and Valerio de Carvalho 2008, section 2). Solved by GLOP,
whose basis survives new columns and new right-hand sides. Its numbers are floats: they choose, they
never prove.

``Relaxation`` makes it that over all patterns (Gilmore and Gomory 1961): solve the program over the patterns known,
take what each piece is worth at that solution, ask the pricer for patterns worth more than their stick, add them,
again. Every round also gives an exact lower bound (``bounds``), so the loop stops as soon as bound and value lift to
the same reachable cost (Farley 1990), which is rounds before the last pattern is found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from solver.cutting.bounds import Asked, Certificate, Counts, certify
from solver.cutting.presolve import Reduced
from solver.cutting.pricing.protocol import MOST_VALUE, IntVector, Pricer
from solver.cutting.problem import CuttingProblem, Pattern
from solver.lp.glop import FINE_DUALS, NEARLY, Column, LinearProgram, Row, solved_anew
from solver.watch import Watch

FractionalUses = tuple[tuple[Pattern, float], ...]
"""How often each pattern is cut at a point of the linear program."""
MOST_SCALE = 2**40
"""The finest parts that duals are cut into; finer than a linear program is exact."""
PIECE = 2.5e-5
"""Seconds that a round of column generation may take for each piece, before any is measured."""
SLACK = 1e-7
"""How much more than its stick a pattern must be worth, per unit of cost, to be worth a column."""
MOST_PATTERNS, SPARE_PATTERNS = 6, 200
"""Patterns that are carried along for each piece, and beside those, before most are forgotten."""


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
        variable = self._program.column(self._problem.cost(pattern))
        self._sticks[pattern.stick].SetCoefficient(variable, 1)
        for i, copies in Counter(pattern.pieces).items():
            self._pieces[i].SetCoefficient(variable, copies)
        return variable


@dataclass(frozen=True, slots=True)
class Goal:
    """What is still to cut and within which counts; ``spent`` is paid already.

    ``lift`` takes a bound on the whole to the smallest total it can stand for. The loop gives up once that
    reaches ``cutoff``, and is content once the value stands for no more than ``hoped``.
    """

    demands: Sequence[int]
    counts: Counts
    lift: Callable[[int], int]
    cutoff: int
    hoped: int = 0
    spent: int = 0


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The linear program's end: the patterns used at its last point, or None where that can't do all that is asked.

    ``cut_off`` says that the certificate, the best of all rounds, reaches the goal's ``cutoff``.
    """

    uses: FractionalUses | None
    certificate: Certificate | None
    cut_off: bool


class Pace:
    """Keeps rounds from running over the stop: a round is begun only if one as long as the longest would be over."""

    def __init__(self, watch: Watch, guess: float) -> None:
        """``guess``: the seconds that the first round may take."""
        self._watch = watch
        self._left = watch.left
        self._longest = guess
        self.refused = False

    def allows_another(self) -> bool:
        """Whether another round would be over in time; the time since this was asked last counts as one."""
        left = self._watch.left
        self._longest = max(self._longest, self._left - left)
        self._left = left
        self.refused |= left <= self._longest
        return left > self._longest


class Relaxation:
    """One problem's master and pricer, used for the whole problem, its residues and its branches.

    ``hurried``: some linear program was left off for want of time.
    """

    def __init__(self, reduced: Reduced, pricer: Pricer, missing_cost: int) -> None:
        """``missing_cost``: what a piece costs that no pattern known can cut; see ``Master``."""
        self.reduced = reduced
        self.master = Master(reduced.problem, reduced.shorter, missing_cost)
        self.master.add(reduced.given)
        self.pricer = pricer
        self.hurried = False
        self._costs = reduced.problem.least_costs

    def solve(self, goal: Goal, watch: Watch) -> Relaxed:
        """Generate columns until bound and value lift alike, nothing more is found, or ``watch`` stops it."""
        if len(self.master.patterns) > MOST_PATTERNS * (len(goal.demands) + SPARE_PATTERNS):
            self.master.forget(len(goal.demands) + SPARE_PATTERNS)
            self.master.add(self.reduced.given)
        self.master.restrict(goal.demands, goal.counts)
        pace = Pace(watch, PIECE * len(self.reduced.problem.pieces))
        relaxed = self._rounds(goal, pace, watch)
        self.hurried |= pace.refused
        return relaxed

    def _rounds(self, goal: Goal, pace: Pace, watch: Watch) -> Relaxed:
        best: Certificate | None = None
        while pace.allows_another() and (point := self.master.solve(watch)) is not None:
            certificate, patterns = self._round(point, goal, watch)
            best = max((c for c in (best, certificate) if c), key=lambda c: c.bound, default=None)
            lifted = goal.lift(goal.spent + best.bound) if best else 0
            if lifted >= goal.cutoff:
                return Relaxed(None, best, cut_off=True)
            reached = goal.lift(goal.spent + ceil(point.value * (1 - 1e-9) - 1e-6))
            settled = not point.missing and max(lifted, goal.hoped) >= reached
            if settled or not pace.allows_another() or not self.master.add(patterns):
                return Relaxed(None if point.missing else self.master.uses(), best, cut_off=False)
        return Relaxed(None, best, cut_off=False)

    def _round(self, point: Point, goal: Goal, watch: Watch) -> tuple[Certificate | None, Sequence[Pattern]]:
        """Price at ``point``; return what that proves, and patterns worth adding."""
        values, scale = self._values(point)
        wanted = np.array(goal.demands, np.int64)
        floors = [
            int(scale * (cost + charge + SLACK * max(1.0, cost)))
            for cost, charge in zip(self._costs, point.charges, strict=True)
        ]
        prices = self.pricer.price(values, wanted, floors, watch)
        worth = values.tolist()
        ceilings = self.reduced.ceilings(prices.ceilings, worth)
        return certify(Asked(goal.demands, self._costs, goal.counts), worth, ceilings, scale), prices.patterns

    def _values(self, point: Point) -> tuple[IntVector, int]:
        """Cut the duals into whole parts as fine as the pricer's numbers allow."""
        pieces, sticks = self.reduced.problem.pieces, self.reduced.problem.sticks
        longest = max(stick.length for stick in sticks)
        densest = max((w / piece.length for w, piece in zip(point.worth, pieces, strict=True)), default=0.0)
        scale = max(1, min(MOST_SCALE, int(MOST_VALUE / max(1e-9, 2 * densest * longest))))
        return np.floor(np.array(point.worth) * scale).astype(np.int64), scale
