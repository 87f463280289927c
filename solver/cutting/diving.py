"""Diving: round the linear program down, solve what is left again, and so on until nothing is left.

Whole parts of the point are fixed; where there are none, one pattern is (the largest fraction first), and
the residual problem is priced anew, so that patterns appear which the first program had no use for
(Joncour et al. 2010; Sadykov et al. 2019). A limited number of second choices near the top is tried too
(limited discrepancy search, Harvey and Ginsberg 1995). On the way every residue is also finished off
by the greedy fills.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor

from solver.cutting.certificate import Counts
from solver.cutting.generation import Goal, Relaxation
from solver.cutting.greedy import Uses, complete, fullest, scan
from solver.cutting.master import NEARLY, FractionalUses
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Pattern
from solver.cutting.restore import served_by, trimmed
from solver.cutting.standing import Standing


@dataclass(frozen=True, slots=True)
class Residue:
    """What is fixed so far, and the goal that is left."""

    fixed: Uses
    goal: Goal

    def fix(self, pattern: Pattern, times: int, reduced: Reduced) -> Residue:
        """Return the residue after cutting a pattern so many times more."""
        rest = list(self.goal.demands)
        for i, copies in Counter(pattern.pieces).items():
            _serve(rest, i, times * copies, reduced.shorter)
        counts = _fewer(self.goal.counts, pattern.stick, times)
        spent = self.goal.spent + times * reduced.problem.sticks[pattern.stick].cost
        goal = replace(self.goal, demands=rest, counts=counts, spent=spent)
        return Residue({**self.fixed, pattern: self.fixed.get(pattern, 0) + times}, goal)


def _serve(rest: list[int], piece: int, copies: int, shorter: Sequence[int | None]) -> None:
    """Take ``copies`` of a piece off the rest; what is too many serves as the next shorter ones."""
    serves: int | None = piece
    while copies and serves is not None:
        taken = min(copies, rest[serves])
        rest[serves] -= taken
        copies -= taken
        serves = shorter[serves]


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
        goal = replace(residue.goal, cutoff=min(residue.goal.cutoff, self._standing.cost), hoped=self._target)
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
                self.dive(residue.fix(pattern, 1, self._relaxation.reduced), second_choices - rank)

    def _finished(self) -> bool:
        return self._work <= 0 or self._standing.done or self._standing.cost <= self._target

    def _round_down(self, residue: Residue, uses: FractionalUses) -> Residue:
        for pattern, amount in sorted(uses, key=lambda use: -use[1]):
            times = floor(amount + NEARLY)
            if times > 0:
                residue = residue.fix(pattern, times, self._relaxation.reduced)
        return residue

    def _choices(self, residue: Residue, uses: FractionalUses) -> list[Pattern]:
        """Return the patterns with a fraction left, those without a piece too many and the largest first."""
        goal, shorter = residue.goal, self._relaxation.reduced.shorter
        choices = []
        for pattern, amount in uses:
            served = served_by(pattern, goal.demands, shorter)
            if served and goal.counts.most[pattern.stick] != 0:
                choices.append((len(served) < len(pattern.pieces), floor(amount + NEARLY) - amount, pattern))
        return [pattern for _, _, pattern in sorted(choices)]

    def _finish_off(self, residue: Residue) -> None:
        """Finish a residue greedily, and see whether that makes a better plan."""
        reduced, watch, goal = self._relaxation.reduced, self._standing.watch, residue.goal
        for fill in (scan, fullest):
            rest = complete(reduced, fill, goal.demands, goal.counts, watch)
            if rest is not None:
                self._offer({p: residue.fixed.get(p, 0) + rest.get(p, 0) for p in (*residue.fixed, *rest)})

    def _offer(self, uses: Uses) -> None:
        if self._standing.total(uses) < self._standing.cost:
            self._standing.offer(trimmed(uses, self._relaxation.reduced))
