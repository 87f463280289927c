"""Column generation: the linear program over all patterns, though only a few are ever written down.

Gilmore and Gomory 1961: solve the program over the patterns known, take what each piece is worth at
that solution, ask the pricer for patterns worth more than their stick, add them, again. Every round also
gives an exact lower bound (``certificate``), so the loop stops as soon as bound and value lift to the
same reachable cost (Farley 1990), which is rounds before the last pattern is found.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from solver.cutting.certificate import Asked, Certificate, Counts, certify
from solver.cutting.master import FractionalUses, Master, Point
from solver.cutting.presolve import Reduced
from solver.cutting.pricing import MOST_VALUE, IntVector, Pricer
from solver.cutting.problem import Pattern
from solver.watch import Watch

MOST_SCALE = 2**40
"""The finest parts that duals are cut into; finer than a linear program is exact."""

MOST_PATTERNS, SPARE_PATTERNS = 6, 200
"""Patterns that are carried along for each piece, and beside those, before most are forgotten."""

PIECE = 2.5e-5
"""Seconds that a round of column generation may take for each piece, before any is measured."""

SLACK = 1e-7
"""How much more than its stick a pattern must be worth, per unit of cost, to be worth a column."""


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
        self._costs = [stick.cost for stick in reduced.problem.sticks]

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
