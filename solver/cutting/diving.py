"""Diving: round the linear program down, solve what is left again, and so on until nothing is left.

Whole parts of the point are fixed; where there are none, one pattern is (the largest fraction first), and
the residual problem is priced anew, so that patterns appear which the first program had no use for
(Joncour et al. 2010; Sadykov et al. 2019). A limited number of second choices near the top is tried too
(limited discrepancy search, Harvey and Ginsberg 1995). On the way every residue is also finished off
by the greedy fills.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor

from solver.cutting.certificate import Counts
from solver.cutting.generation import Goal, Relaxation
from solver.cutting.greedy import Uses, complete, fullest, scan
from solver.cutting.master import NEARLY, FractionalUses
from solver.cutting.problem import Pattern
from solver.cutting.restore import trimmed
from solver.cutting.standing import Standing


@dataclass(frozen=True, slots=True)
class Residue:
    """What is fixed so far, and the goal that is left."""

    fixed: Uses
    goal: Goal

    def fix(self, pattern: Pattern, times: int, cost: int) -> Residue:
        """Return the residue after cutting a pattern so many times more."""
        rest = list(self.goal.demands)
        for i in pattern.pieces:
            rest[i] = max(0, rest[i] - times)
        counts = _fewer(self.goal.counts, pattern.stick, times)
        goal = replace(self.goal, demands=rest, counts=counts, spent=self.goal.spent + times * cost)
        return Residue({**self.fixed, pattern: self.fixed.get(pattern, 0) + times}, goal)


def _fewer(counts: Counts, stick: int, times: int) -> Counts:
    least, most = list(counts.least), list(counts.most)
    limit = most[stick]
    least[stick] = max(0, least[stick] - times)
    most[stick] = None if limit is None else limit - times
    return Counts(tuple(least), tuple(most))


class Diver:
    """Dives for one standing; ends when its cost reaches ``target``, or the work it was given is used up."""

    def __init__(self, relaxation: Relaxation, standing: Standing, target: int, work: int) -> None:
        """``work``: how many linear programs with their pricing may be solved."""
        self._relaxation = relaxation
        self._standing = standing
        self._target = target
        self._work = work

    def dive(self, residue: Residue, second_choices: int) -> None:
        """Dive from ``residue``, taking at most so many second choices on the way down."""
        if self._finished():
            return
        self._work -= 1
        goal = replace(residue.goal, cutoff=min(residue.goal.cutoff, self._standing.cost))
        relaxed = self._relaxation.solve(goal, self._standing.watch)
        if relaxed.uses is None:
            return
        residue = self._round_down(residue, relaxed.uses)
        if not any(residue.goal.demands):
            self._offer(residue.fixed)
            return
        self._finish_off(residue)
        for rank, pattern in enumerate(self._choices(residue, relaxed.uses)[: second_choices + 1]):
            if not self._finished():
                self.dive(residue.fix(pattern, 1, self._cost(pattern)), second_choices - rank)

    def _finished(self) -> bool:
        return self._work <= 0 or self._standing.done or self._standing.cost <= self._target

    def _cost(self, pattern: Pattern) -> int:
        return self._relaxation.reduced.problem.sticks[pattern.stick].cost

    def _round_down(self, residue: Residue, uses: FractionalUses) -> Residue:
        for pattern, amount in sorted(uses, key=lambda use: -use[1]):
            times = min(floor(amount + NEARLY), _times(pattern, residue.goal.demands))
            if times > 0:
                residue = residue.fix(pattern, times, self._cost(pattern))
        return residue

    def _choices(self, residue: Residue, uses: FractionalUses) -> list[Pattern]:
        """Return the patterns with a fraction left, those that overshoot nothing and the largest first."""
        fractions = [(amount - floor(amount + NEARLY), p) for p, amount in uses if _allowed(p, residue.goal)]
        open_ones = [(not _times(p, residue.goal.demands), -part, p) for part, p in fractions if part > NEARLY]
        return [pattern for _, _, pattern in sorted(open_ones)] or [p for _, p in fractions]

    def _finish_off(self, residue: Residue) -> None:
        """Finish a residue greedily, and see whether that makes a better plan."""
        reduced, watch, goal = self._relaxation.reduced, self._standing.watch, residue.goal
        for fill in (scan, fullest):
            rest = complete(reduced, fill, goal.demands, goal.counts, watch)
            if rest is not None:
                self._offer({p: residue.fixed.get(p, 0) + rest.get(p, 0) for p in (*residue.fixed, *rest)})

    def _offer(self, uses: Uses) -> None:
        if self._standing.total(uses) < self._standing.cost:
            self._standing.offer(trimmed(uses, [piece.demand for piece in self._relaxation.reduced.problem.pieces]))


def _times(pattern: Pattern, demands: Sequence[int]) -> int:
    """How often a pattern can be cut without a piece too many."""
    return min(demands[i] // pattern.pieces.count(i) for i in set(pattern.pieces))


def _allowed(pattern: Pattern, goal: Goal) -> bool:
    return goal.counts.most[pattern.stick] != 0 and any(goal.demands[i] for i in pattern.pieces)
