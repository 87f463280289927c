"""What is left of a problem once some sticks are settled: the residual problem of every rounding."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from solver.cutting.certificate import Counts
from solver.cutting.generation import Goal
from solver.cutting.greedy import Uses
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Pattern


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
