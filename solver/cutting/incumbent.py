"""How things stand: the best plan and the best bound so far, and whether they meet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from solver.cutting.bounds import Certificate
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Uses
from solver.cutting.reachable import Costs
from solver.watch import Watch


@dataclass(frozen=True, slots=True)
class Totals:
    """The totals (penalty for length uncut, plus cost) that some plan could have."""

    penalty: int
    uncut: Costs
    cost: Costs

    @classmethod
    def of(cls, reduced: Reduced, most: int) -> Totals:
        """List the totals up to ``most``, the total of a plan known."""
        problem, penalty = reduced.problem, reduced.penalty
        left_out = (
            (problem.cost(p) // penalty, problem.pieces[p.pieces[0]].demand)
            for p in reduced.given
            if p.stick >= reduced.priced
        )
        limits = (stick.limit for stick in problem.sticks)
        real = [*zip(problem.least_costs, limits, strict=True)][: reduced.priced]
        return cls(penalty, Costs.of(left_out, most // penalty), Costs.of(real, min(most, penalty - 1)))

    def lift(self, bound: int) -> int:
        """Return the smallest total that a plan could have, of at least ``bound``."""
        uncut = self.uncut.lift(-(-(bound - self.penalty + 1) // self.penalty))
        cost = self.cost.lift(bound - self.penalty * uncut)
        if cost > self.cost.most:
            return self.penalty * self.uncut.lift(uncut + 1)
        return self.penalty * uncut + cost


class Incumbent:
    """Best plan, best bound and its certificate, all in the reduced problem's terms.

    ``exhausted``: every method was applied to its end, none in haste.
    """

    def __init__(self, reduced: Reduced, uses: Uses, watch: Watch) -> None:
        """Start from a plan and no bound."""
        self.reduced = reduced
        self.watch = watch
        self.uses = uses
        self.cost = self.total(uses)
        self.bound = 0
        self.certificate: Certificate | None = None
        self.searched = ""
        self.cuts: Sequence[Certificate] = ()
        self.exhausted = False

    @cached_property
    def totals(self) -> Totals:
        """The totals that a plan could have, listed when they are first asked for."""
        return Totals.of(self.reduced, self.cost)

    def total(self, uses: Uses) -> int:
        """Return the cost of a plan, penalties included."""
        return self.reduced.problem.total(uses.items())

    def lift(self, bound: int) -> int:
        """Return the smallest total a plan could have, of at least ``bound`` and at most that of the best plan."""
        return min(self.cost, self.totals.lift(bound))

    def offer(self, uses: Uses | None) -> bool:
        """Keep a plan if it is better than the best so far, and say whether it is."""
        if uses is None or (cost := self.total(uses)) >= self.cost:
            return False
        self.uses, self.cost = uses, cost
        self._tell()
        return True

    def prove(self, certificate: Certificate | None) -> None:
        """Raise the bound to what a certificate proves, lifted, if that is higher."""
        if certificate is not None and (lifted := self.lift(certificate.bound)) > self.bound:
            self.bound, self.certificate, self.searched, self.cuts = lifted, certificate, "", ()
            self._tell()

    def searched_to(self, bound: int, text: str, cuts: Sequence[Certificate] = ()) -> None:
        """Raise the bound to what a search that ``text`` describes has proven, if that is higher.

        ``cuts``: certificates that together rule out all numbers of sticks below it, if there are such.
        """
        if (lifted := self.lift(bound)) > self.bound:
            self.bound, self.searched, self.cuts = lifted, text, cuts
            self._tell()

    def _tell(self) -> None:
        step, penalty = self.reduced.cost_step, self.reduced.penalty
        self.watch.report(self.cost % penalty * step, min(self.bound, self.cost) % penalty * step)

    @property
    def closed(self) -> bool:
        """Whether the plan is proven best."""
        return self.bound >= self.cost

    @property
    def done(self) -> bool:
        """Whether to come back now: proven, or stopped."""
        return self.closed or self.watch.stopped
