"""Whether given sticks suffice to cut every piece: a plan, a certificate that they don't, or neither.

The engine's own methods one after the other, every stick limited to its number: greedy fills, the linear program over
all patterns, dives, and the search over flows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from solver.cutting.arcflow import settle
from solver.cutting.arcflow.enumerated import Answer
from solver.cutting.bounds import Certificate, Counts
from solver.cutting.columns import FractionalUses, Goal, Relaxation
from solver.cutting.count_bounds import Numbers, rules_out
from solver.cutting.diving import Diver
from solver.cutting.greedy import complete, fullest, scan
from solver.cutting.incumbent import Incumbent
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Uses
from solver.cutting.solve import pricer_of
from solver.watch import Watch

PROGRAMS = 60
"""Linear programs that a dive may take."""
SECOND_CHOICES = 2
"""Dives are repeated with up to so many second choices."""
PARTS = 200
"""Parts that the flow search may look into for one choice of numbers."""


@dataclass(frozen=True, slots=True)
class Told:
    """What is known of numbers of sticks: ``uses`` cut every piece from them, or ``refuted`` says that nothing does.

    ``cut`` is the certificate for that where there is one.
    """

    uses: Uses | None = None
    refuted: bool = False
    cut: Certificate | None = None


class Oracle:
    """Answers for one reduced problem; the linear program is kept warm between questions."""

    def __init__(self, reduced: Reduced) -> None:
        """Start without patterns."""
        self.reduced = reduced
        problem = reduced.problem
        self._demands = [piece.demand for piece in problem.pieces]
        self._costs = problem.least_costs
        self._alone = Uses(
            {p: problem.pieces[p.pieces[0]].demand for p in reduced.given if p.stick >= reduced.priced}
        )
        dearest = max(self._costs[: reduced.priced], default=1)
        self.relaxation = Relaxation(reduced, pricer_of(reduced), 10 * dearest * (1 + sum(self._demands)))

    def ask(self, numbers: Numbers, watch: Watch) -> Told:
        """Say whether so many sticks of each kind suffice; those that stand for pieces uncut are 0."""
        counts = Counts((0,) * len(numbers), numbers)
        for fill in (scan, fullest):
            if (uses := complete(self.reduced, fill, self._demands, counts, watch)) is not None:
                return Told(uses)
        cost = sum(cost * n for cost, n in zip(self._costs, numbers, strict=True))
        goal = Goal(self._demands, counts, lambda bound: bound, cost + 1, hoped=cost)
        relaxed = self.relaxation.solve(goal, watch)
        if relaxed.cut_off and relaxed.certificate is not None and rules_out(relaxed.certificate, numbers):
            return Told(refuted=True, cut=relaxed.certificate)
        if relaxed.uses is None:
            return Told()
        return self._dived(numbers, goal, relaxed.uses, watch)

    def _dived(self, numbers: Numbers, goal: Goal, uses: FractionalUses, watch: Watch) -> Told:
        standing = self._standing(numbers, watch)
        for second_choices in range(SECOND_CHOICES):
            Diver(self.relaxation, standing, goal.hoped, PROGRAMS).dive(goal, second_choices, uses)
            if standing.cost <= goal.hoped:
                return Told(standing.uses)
        return Told()

    def settle(self, numbers: Numbers, watch: Watch) -> Told:
        """Search all plans with so many sticks of each kind, where ``ask`` could not tell."""
        outcome = settle(self._standing(numbers, watch), self.relaxation, numbers, PARTS)
        return Told(outcome.uses, outcome.answer is Answer.NONE)

    def cheap(self, watch: Watch) -> tuple[Uses | None, Certificate | None]:
        """Return a plan that costs little by the sticks' own costs, and what the linear program says of any numbers."""
        counts = Counts.of(self.reduced.problem.sticks)
        numbers = tuple(n or 0 for n in counts.most)
        limits = (*numbers[: self.reduced.priced], *(0 for _ in numbers[self.reduced.priced :]))
        standing = self._standing(limits, watch)
        for fill in (scan, fullest):
            standing.offer(complete(self.reduced, fill, self._demands, Counts((0,) * len(limits), limits), watch))
        goal = Goal(self._demands, Counts((0,) * len(limits), limits), lambda bound: bound, standing.cost)
        relaxed = self.relaxation.solve(goal, watch)
        if relaxed.uses is not None:
            Diver(self.relaxation, standing, 0, PROGRAMS).dive(goal, 0, relaxed.uses)
        whole = not any(pattern.stick >= self.reduced.priced for pattern in standing.uses)
        return (standing.uses if whole else None), relaxed.certificate

    def _standing(self, numbers: Numbers, watch: Watch) -> Incumbent:
        """Return a standing in which nothing is cut yet, and every stick limited to its number."""
        problem = self.reduced.problem
        sticks = tuple(replace(stick, limit=n) for stick, n in zip(problem.sticks, numbers, strict=True))
        limited = replace(self.reduced, problem=replace(problem, sticks=sticks))
        return Incumbent(limited, self._alone, watch.quiet())
