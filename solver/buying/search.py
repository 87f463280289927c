"""The search for the cheapest purchase that suffices, and its plan: for one material, or for several with one bill.

The cheapest purchase that is not ruled out (``choice``) is a lower bound on every bill. Each of its materials is put
to the cutting: it suffices, and then the purchase is a best one; or a certificate shows that it does not, which rules
out more than just that purchase; or neither is known soon. Then the next purchases are asked about until one suffices,
and those left open are searched, cheapest first. Whether given sticks suffice to cut every piece, the engine's own
methods are asked one after the other, every stick limited to its number: greedy fills, the linear program over all
patterns, dives, and the search over flows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from solver.buying.bill import NEVER
from solver.buying.choice import Choice, Kinds, Part
from solver.buying.order import order_of
from solver.buying.terms import Minimum, Terms
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

MOST_ASKED = 400
"""Purchases that the cutting is asked about before the search is given up."""
MOST_OPEN = 12
"""Purchases left open before they are searched."""

Sticks = tuple[int, ...]
"""Sticks to cut of each length of a material."""


@dataclass(frozen=True, slots=True)
class Lot:
    """One material's share of the purchase: what is cut from what, and on which terms its lengths are sold."""

    reduced: Reduced
    terms: Terms
    kinds: Kinds

    @property
    def pieces(self) -> int:
        """How many pieces are cut, so no plan cuts more sticks."""
        return sum(piece.demand for piece in self.reduced.problem.pieces)


class _Asked:
    """A lot with what is known of it so far."""

    def __init__(self, lot: Lot, part: Part) -> None:
        self.lot, self.part = lot, part
        self.oracle = Oracle(lot.reduced)
        self.cuts: list[Certificate] = []
        self.searched = False
        self._plans: list[tuple[Sticks, Uses]] = []

    def sticks(self, uses: Uses) -> Sticks:
        """Return how many sticks of each length a plan cuts."""
        counts = Counter[int]()
        for pattern, times in uses.items():
            length = self.lot.kinds.lengths[pattern.stick]
            if length is not None:
                counts[length] += times
        return tuple(counts[length] for length in range(len(self.lot.terms.lengths)))

    def learn(self, cut: Certificate | None, tried: Sticks | None = None) -> None:
        """Keep what a certificate says of any numbers of sticks, those ``tried`` above all."""
        if cut is not None:
            self.cuts.append(cut)
            self.part.learn(cut, tried)

    def ask(self, sticks: Sticks, watch: Watch) -> Told:
        """Say whether so many sticks suffice, and keep what that teaches."""
        for used, uses in self._plans:
            if all(n <= most for n, most in zip(used, sticks, strict=True)):
                return Told(uses)
        return self._kept(sticks, self.oracle.ask(self.lot.kinds.numbers(sticks), watch))

    def settle(self, sticks: Sticks, watch: Watch) -> Told:
        """Search all plans with so many sticks."""
        return self._kept(sticks, self.oracle.settle(self.lot.kinds.numbers(sticks), watch))

    def _kept(self, sticks: Sticks, told: Told) -> Told:
        if told.uses is not None:
            self._plans.append((self.sticks(told.uses), told.uses))
        elif told.cut is not None:
            self.learn(told.cut, sticks)
        else:
            self.part.exclude(sticks)
            self.searched |= told.refuted
        return told


class Search:
    """The search over purchases of some lots.

    ``plans`` are the best found, one for each lot, with the bill ``cost``, and no bill is lower than ``bound``.
    """

    def __init__(self, lots: Sequence[Lot], watch: Watch, minimum: Minimum | None = None) -> None:
        """Start without a plan; all lots are one order, for which a ``minimum`` may hold."""
        self._watch = watch
        self._minimum = minimum
        self._choice = Choice(minimum)
        self._lots = [_Asked(lot, self._choice.add(lot.terms, lot.kinds, lot.pieces)) for lot in lots]
        self._open: list[tuple[int, Sequence[Sticks]]] = []
        self._asked = 0
        self._reached = 0
        self.plans: Sequence[Uses] = ()
        self.cost = NEVER
        self.bound = 0
        self.exhausted = False

    @property
    def closed(self) -> bool:
        """Whether no purchase is cheaper than that of the plans."""
        return self.bound >= self.cost

    @property
    def cuts(self) -> list[Sequence[Certificate]]:
        """Certificates of each lot that together rule out all cheaper purchases; none of a lot that was searched."""
        return [() if lot.searched else lot.cuts for lot in self._lots]

    def run(self) -> None:
        """Search until the plans are proven best, the work allowed is done, or the watch stops it."""
        self._begin()
        more = True
        while more:
            more = self._look()
            more = self._settle() and more
        self.exhausted = not self._watch.stopped

    def _begin(self) -> None:
        cheap = [lot.oracle.cheap(self._watch) for lot in self._lots]
        for lot, (_, certificate) in zip(self._lots, cheap, strict=True):
            lot.learn(certificate)
        self._offer([uses for uses, _ in cheap])

    def _look(self) -> bool:
        """Ask about purchases, cheapest first, and return whether that ended because too many are left open."""
        while not self._done and self._asked < MOST_ASKED:
            if len(self._open) >= MOST_OPEN:
                return True
            self._asked += 1
            reached, chosen = self._choice.cheapest(self.cost, self._watch)
            self._raise(reached)
            if chosen is None:
                return False
            self._ask(reached, chosen)
            self._raise(reached)
        return False

    @property
    def _done(self) -> bool:
        return self.closed or self._watch.stopped

    def _ask(self, bill: int, chosen: Sequence[Sticks]) -> None:
        """Ask about a purchase; it is left open where its sticks may suffice, but no plan shows that its bill does."""
        told = [lot.ask(sticks, self._watch) for lot, sticks in zip(self._lots, chosen, strict=True)]
        if any(each.refuted for each in told):
            return
        plans = [each.uses for each in told]
        if self._offer(plans) > bill:
            self._open.append((bill, chosen))
            if all(uses is not None for uses in plans):
                self._lots[0].part.exclude(chosen[0])

    def _settle(self) -> bool:
        """Search the purchases left open, cheapest first, until one defies it; say whether none did."""
        for bill, chosen in sorted(self._open):
            if self._done:
                return False
            if bill < self.cost:
                told = [lot.settle(sticks, self._watch) for lot, sticks in zip(self._lots, chosen, strict=True)]
                if not any(each.refuted for each in told) and self._offer([each.uses for each in told]) > bill:
                    return False
            self._open.remove((bill, chosen))
        self._raise(self._reached)
        return True

    def _offer(self, plans: Sequence[Uses | None]) -> int:
        """Keep plans if their bill is the lowest so far, and return it; without end where some lot has none."""
        whole = [uses for uses in plans if uses is not None]
        if len(whole) < len(plans):
            return NEVER
        sticks = [lot.sticks(uses) for lot, uses in zip(self._lots, whole, strict=True)]
        order = order_of([lot.lot.terms for lot in self._lots], sticks, self._minimum, self._watch)
        if order is None or order.refused:
            return NEVER
        cost = order.cost
        if cost < self.cost:
            self.plans, self.cost = whole, cost
            self._watch.report(self.cost, min(self.bound, self.cost))
        return cost

    def _raise(self, reached: int) -> None:
        """Raise the bound to what the choice has ``reached``, or to the lowest bill that is open."""
        self._reached = max(reached, self._reached)
        bound = min([self._reached, self.cost, *(bill for bill, _ in self._open)])
        if bound > self.bound:
            self.bound = bound
            self._watch.report(self.cost, self.bound)


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
        self._alone = Uses({p: problem.pieces[p.pieces[0]].demand for p in reduced.given if p.stick >= reduced.priced})
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
