"""Search over the numbers of sticks, where several kinds are paid for and rounding up the bound is not enough.

The cheapest numbers that no certificate rules out (``stick_counts``) are a lower bound. They are put to the
linear program as limits: either it shows that they can't do, which is a new certificate and rules out
more than just them, or a dive looks for a plan with these numbers, which is then a best one. Numbers that
could neither be ruled out nor filled so are put to the flow search; until that has settled them they stay
open and hold the bound down.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, floor

from solver.cutting.arcflow import settle
from solver.cutting.arcflow.enumerated import Answer
from solver.cutting.bounds import Counts
from solver.cutting.columns import FractionalUses, Goal, Relaxation
from solver.cutting.count_bounds import Numbers
from solver.cutting.diving import Diver
from solver.cutting.incumbent import Incumbent
from solver.cutting.stick_counts import StickCounts
from solver.lp.glop import NEARLY

MOST_LOOKED_AT = 500
"""Numbers put to the linear program before the search over numbers is given up."""

PARTS = 200
"""Parts that the flow search may look into for one choice of numbers."""

WORDS = (
    "Cheapest numbers of sticks that no certificate rules out: every cheaper choice of how many sticks of each"
    " kind to cut was ruled out, listed or by CP-SAT in whole numbers, with values of pieces by which those"
    " sticks together are worth less than all pieces, or by searching all plans with those sticks, branch by branch."
)


@dataclass(frozen=True, slots=True)
class Effort:
    """How many linear programs a dive may take, and how many second choices."""

    programs: int
    second_choices: int


class CountSearch:
    """The search over numbers of sticks of one standing."""

    def __init__(self, relaxation: Relaxation, incumbent: Incumbent) -> None:
        """Start with the certificates the standing has."""
        self._relaxation = relaxation
        self._incumbent = incumbent
        problem = relaxation.reduced.problem
        self._demands = [piece.demand for piece in problem.pieces]
        self._costs = problem.least_costs
        most = tuple(self._most(k) for k in range(len(problem.sticks)))
        self._counting = StickCounts(self._costs, most)
        self._unfilled: list[Numbers] = []
        self._settled: list[Numbers] = []
        self._undecided = incumbent.cost
        self._reached = 0

    def _most(self, k: int) -> int:
        """Return how many of a stick a plan that is cheaper than the best may have."""
        limit, cost, pieces = self._relaxation.reduced.problem.sticks[k].limit, self._costs[k], sum(self._demands)
        affordable = (self._incumbent.cost - 1) // cost if cost else pieces
        return min(affordable, pieces, pieces if limit is None else limit)

    def run(self, numbers: int, effort: Effort) -> None:
        """Raise the bound and look for plans, with at most so many numbers open at a time."""
        self._explore()
        more = True
        while more:
            more = self._look(numbers, effort)
            more = self._settle() and more

    def _look(self, most: int, effort: Effort) -> bool:
        """Go through numbers, cheapest first, and return whether that ended because ``most`` are left open."""
        for _ in range(MOST_LOOKED_AT):
            if len(self._unfilled) >= most or self._incumbent.done:
                return not self._incumbent.done
            self._reached, cheapest = self._counting.cheapest(self._incumbent.cost, self._incumbent.watch)
            self._undecided = min(self._undecided, self._reached) if cheapest is None else self._undecided
            self._tell()
            if cheapest is None:
                return False
            if self._possible(cheapest):
                self._fill(cheapest, effort)
        return False

    def _settle(self) -> bool:
        """Put the numbers left open to the flow search, cheapest first, until one defies it; say whether none did.

        Those that cost no less than the best plan found meanwhile are dropped unsearched. With one kind of stick
        none are: that is the question of ``Closing``.
        """
        if len(self._costs) == 1:
            return False
        for numbers in sorted(self._unfilled, key=self._counting.cost):
            if self._counting.cost(numbers) < self._incumbent.cost:
                outcome = settle(self._incumbent, self._relaxation, numbers, PARTS)
                if outcome.answer is Answer.OPEN:
                    return False
                if outcome.answer is Answer.NONE:
                    self._settled.append(numbers)
                self._incumbent.offer(outcome.uses)
            self._unfilled.remove(numbers)
            self._tell()
        return True

    def again(self, effort: Effort) -> None:
        """Look for plans once more, with the numbers that are left open."""
        for numbers in self._unfilled:
            if self._counting.cost(numbers) < self._incumbent.cost and not self._incumbent.done:
                self._dive(numbers, effort)

    def _tell(self) -> None:
        """Raise the bound to the least cost that is still open."""
        unfilled = (self._counting.cost(numbers) for numbers in self._unfilled)
        bound = min(self._reached, self._undecided, *unfilled)
        searched = any(self._counting.cost(numbers) < bound for numbers in self._settled)
        self._incumbent.searched_to(bound, WORDS, () if searched else tuple(self._counting.cuts))

    def _explore(self) -> None:
        """Learn the certificates next to the root's: a little more and a little less of each stick than it uses."""
        limits = Counts.of(self._relaxation.reduced.problem.sticks)
        uses = self._learn(limits)
        if uses is not None:
            for k in range(self._relaxation.reduced.priced):
                if self._incumbent.done:
                    return
                amount = sum(x for pattern, x in uses if pattern.stick == k)
                for counts in _beside(limits, k, amount):
                    self._learn(counts)

    def _learn(self, counts: Counts) -> FractionalUses | None:
        """Solve the linear program within counts, and keep what its certificate says of any counts."""
        goal = Goal(self._demands, counts, lambda bound: bound, self._incumbent.cost)
        relaxed = self._relaxation.solve(goal, self._incumbent.watch)
        if relaxed.certificate is not None:
            self._counting.add(relaxed.certificate)
        return relaxed.uses

    def _goal(self, numbers: Numbers) -> Goal:
        counts = Counts((0,) * len(numbers), numbers)
        cost = self._counting.cost(numbers)
        return Goal(self._demands, counts, lambda bound: bound, cost + 1, hoped=cost)

    def _possible(self, numbers: Numbers) -> bool:
        """Whether the linear program has a plan with these numbers; if not, learn why."""
        relaxed = self._relaxation.solve(self._goal(numbers), self._incumbent.watch)
        if relaxed.cut_off and relaxed.certificate is not None:
            self._counting.add(relaxed.certificate)
            return False
        if relaxed.uses is None:
            self._undecided = min(self._undecided, self._counting.cost(numbers))
            return False
        return True

    def _fill(self, numbers: Numbers, effort: Effort) -> None:
        """Look for a plan with these numbers, and remember them where none is found."""
        self._dive(numbers, effort)
        if self._incumbent.cost > self._counting.cost(numbers):
            self._unfilled.append(numbers)

    def _dive(self, numbers: Numbers, effort: Effort) -> None:
        goal = self._goal(numbers)
        for second_choices in range(effort.second_choices + 1):
            Diver(self._relaxation, self._incumbent, goal.hoped, effort.programs).dive(goal, second_choices)


def _beside(counts: Counts, k: int, amount: float) -> Iterator[Counts]:
    """Yield counts with at most the whole number below ``amount`` of stick ``k``, and with at least the one above."""
    below = ceil(amount - NEARLY) - 1
    if below >= counts.least[k]:
        yield Counts(counts.least, (*counts.most[:k], below, *counts.most[k + 1 :]))
    limit = counts.most[k]
    if limit is None or below + 2 <= limit:
        yield Counts((*counts.least[:k], floor(amount + NEARLY) + 1, *counts.least[k + 1 :]), counts.most)
