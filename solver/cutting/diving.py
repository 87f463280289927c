"""Diving: round the linear program down, solve what is left again, and so on until nothing is left.

Whole parts of the point are fixed, then the largest fraction and a few that are nearly whole, and the
residual problem is priced anew, so that patterns appear which the first program had no use for
(Joncour et al. 2010; Sadykov et al. 2019). A limited number of second choices is tried too (limited
discrepancy search, Harvey and Ginsberg 1995). On the way residues are finished off by the greedy fills.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import floor, inf

from solver.cutting.bounds import Counts
from solver.cutting.columns import FractionalUses, Goal, Relaxation
from solver.cutting.greedy import complete, fullest, scan
from solver.cutting.incumbent import Incumbent
from solver.cutting.presolve import Reduced, served_by, trimmed
from solver.cutting.problem import Pattern, Uses
from solver.lp.glop import NEARLY

AT_ONCE = 10
"""One in so many of the fractions is fixed at a time, besides the first."""
NEARLY_WHOLE = 0.5
"""A fraction of at least this may be fixed besides the first."""
FEWER = 0.8
"""A residue is finished off greedily when it has come down to this part of the pieces since the last time."""


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
        spent = self.goal.spent + times * reduced.problem.cost(pattern)
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

    def __init__(self, relaxation: Relaxation, incumbent: Incumbent, target: int, work: int) -> None:
        """``work``: how many linear programs with their pricing may be solved."""
        self._relaxation = relaxation
        self._incumbent = incumbent
        self._target = target
        self._work = work
        self._finished_at = inf

    def dive(self, goal: Goal, second_choices: int, uses: FractionalUses | None = None) -> None:
        """Dive for ``goal``, taking at most so many second choices on the way down.

        ``uses``: where the linear program for it ended, if that is known.
        """
        waiting = [(Residue({}, goal), second_choices)]
        while waiting and not self._finished():
            residue, left = waiting.pop()
            self._work -= 1
            uses = uses or self._relaxed(residue)
            if uses is not None:
                residue = self._round_down(residue, uses)
                self._finish_off(residue)
                choices = self._choices(residue, uses)
                ranks = reversed(range(min(left + 1, len(choices))))
                waiting += [(self._take(residue, choices, rank), left - rank) for rank in ranks]
            uses = None

    def _relaxed(self, residue: Residue) -> FractionalUses | None:
        cutoff = min(residue.goal.cutoff, self._incumbent.cost)
        goal = replace(residue.goal, cutoff=cutoff, hoped=self._target)
        return self._relaxation.solve(goal, self._incumbent.watch).uses

    def _finished(self) -> bool:
        return self._work <= 0 or self._incumbent.done or self._incumbent.cost <= self._target

    def _round_down(self, residue: Residue, uses: FractionalUses) -> Residue:
        for pattern, amount in sorted(uses, key=lambda use: -use[1]):
            times = floor(amount + NEARLY)
            if times > 0:
                residue = residue.fix(pattern, times, self._relaxation.reduced)
        return residue

    def _choices(self, residue: Residue, uses: FractionalUses) -> list[tuple[bool, float, Pattern]]:
        """Return the patterns with a fraction left, those without a piece too many and the largest first.

        Each comes as whether it has a piece too many, its fraction below nought, and itself.
        """
        goal, shorter = residue.goal, self._relaxation.reduced.shorter
        choices = []
        for pattern, amount in uses:
            served = served_by(pattern, goal.demands, shorter)
            if served and goal.counts.most[pattern.stick] != 0:
                choices.append((len(served) < len(pattern.pieces), floor(amount + NEARLY) - amount, pattern))
        return sorted(choices)

    def _take(self, residue: Residue, choices: Sequence[tuple[bool, float, Pattern]], rank: int) -> Residue:
        """Fix the choice of that rank, and a few others that are nearly whole and still have no piece too many."""
        reduced = self._relaxation.reduced
        residue = residue.fix(choices[rank][2], 1, reduced)
        for too_many, fraction, pattern in choices[: 1 + len(choices) // AT_ONCE]:
            if -fraction >= NEARLY_WHOLE and not too_many and pattern != choices[rank][2]:
                served = served_by(pattern, residue.goal.demands, reduced.shorter)
                if len(served) == len(pattern.pieces) and residue.goal.counts.most[pattern.stick] != 0:
                    residue = residue.fix(pattern, 1, reduced)
        return residue

    def _finish_off(self, residue: Residue) -> None:
        """Finish a residue greedily, and see whether that makes a better plan."""
        reduced, watch, goal = self._relaxation.reduced, self._incumbent.watch, residue.goal
        left = sum(goal.demands)
        if left and left > FEWER * self._finished_at:
            return
        self._finished_at = left
        for fill in (scan, fullest):
            rest = complete(reduced, fill, goal.demands, goal.counts, watch)
            if rest is not None:
                self._offer({p: residue.fixed.get(p, 0) + rest.get(p, 0) for p in (*residue.fixed, *rest)})

    def _offer(self, uses: Uses) -> None:
        if self._incumbent.total(uses) < self._incumbent.cost:
            self._incumbent.offer(trimmed(uses, self._relaxation.reduced))
