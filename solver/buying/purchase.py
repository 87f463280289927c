"""One material's cutting problem and terms into the plan with the lowest bill, or the best that its stock allows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import floor

from solver.buying.bill import cheapest
from solver.buying.choice import Kinds
from solver.buying.saw import Saw, ways_of
from solver.buying.search import Lot, Search, Sticks
from solver.buying.terms import Minimum, Sold, Terms
from solver.buying.whole import Cut, reckoned
from solver.cutting import Cutting, CuttingProblem, Duals, solve, tidy
from solver.cutting import Search as Searched
from solver.cutting.bounds import Certificate
from solver.cutting.presolve import Reduced, reduce, restored
from solver.cutting.problem import MOST_SETS, Pattern
from solver.watch import Watch

FINE = 10_000
"""The dearest stick costs so much where the linear program weighs lengths against each other."""

WORDS = (
    "cheapest purchases that no certificate rules out: every cheaper one was ruled out by CP-SAT in whole numbers, with"
    " values of pieces by which its sticks together are worth less than all pieces, or by searching all plans with"
    " those sticks, branch by branch"
)
"""What a bound from here rests on where no certificate is enough."""

WITH_CUTTING = (
    "purchases and patterns as one program of CP-SAT in whole numbers, over every pattern where they can all be written"
    " down; else the cheapest purchase, with what cutting its sticks costs at the least by values of pieces"
)
"""The same where cutting counts beside the bill."""


@dataclass(frozen=True, slots=True)
class Material:
    """A cutting problem whose first sticks are the lengths of ``terms``; those that follow are on hand.

    ``saw`` says what counts beside the bill, None where nothing does.
    """

    problem: CuttingProblem
    terms: Terms
    saw: Saw | None = None

    @property
    def lengths(self) -> int:
        """How many lengths are sold."""
        return len(self.terms.lengths)

    def sticks(self, uses: Iterable[tuple[Pattern, int]]) -> Sticks:
        """Return how many sticks of each length a plan cuts."""
        counts = [0] * self.lengths
        for pattern, times in uses:
            if pattern.stick < self.lengths:
                counts[pattern.stick] += times
        return tuple(counts)

    def total(self, uses: Iterable[tuple[Pattern, int]]) -> int | None:
        """Return what a plan comes to, cutting and all; None where its sticks can't be bought."""
        uses = tuple(uses)
        bill = cheapest(self.terms, self.sticks(uses))
        cutting = self.saw.total(ways_of(self.problem, uses), self.problem.kerf) if self.saw else 0
        return None if bill is None else bill.cost + cutting

    def without(self, uncut: Sequence[int]) -> Material:
        """Return the same with so many pieces less of each kind."""
        pairs = zip(self.problem.pieces, uncut, strict=True)
        cut = tuple(replace(piece, demand=piece.demand - left) for piece, left in pairs)
        return replace(self, problem=replace(self.problem, pieces=cut))

    def cut(self) -> Cut:
        """Return it with what cutting counts, be that nothing."""
        return Cut(self.problem, self.terms, self.saw or Saw(0, 0, Fraction(0), 1, 0))

    def lot(self) -> Lot:
        """Return it as the search takes it: every stick limited, and worth about what it costs."""
        pieces = max(1, sum(piece.demand for piece in self.problem.pieces))
        costs = [float(_likely(sold, pieces)) for sold in self.terms.lengths]
        finest = FINE / max(1.0, *costs)
        bought = (
            replace(stick, cost=max(1, round(cost * finest)), limit=_least(pieces, sold.most))
            for stick, cost, sold in zip(self.problem.sticks, costs, self.terms.lengths, strict=False)
        )
        on_hand = (replace(stick, limit=_least(pieces, stick.limit)) for stick in self.problem.sticks[self.lengths :])
        reduced = reduce(replace(self.problem, sticks=(*bought, *on_hand)), apart=True)
        return Lot(reduced, self.terms, self._kinds(reduced))

    def _kinds(self, reduced: Reduced) -> Kinds:
        origins = [origin for (origin,) in reduced.origins]
        unreal = len(reduced.problem.sticks) - reduced.priced
        lengths = [origin if origin < self.lengths else None for origin in origins]
        limits = [stick.limit or 0 for stick in reduced.problem.sticks[: reduced.priced]]
        return Kinds((*lengths, *([None] * unreal)), (*limits, *([0] * unreal)))


def _likely(sold: Sold, pieces: int) -> float:
    """Return what a stick costs where many are bought."""
    return float(sold.each) + sold.fixed / pieces


def _least(pieces: int, limit: int | None) -> int:
    return pieces if limit is None else min(pieces, limit)


def buy(material: Material, watch: Watch) -> Cutting:
    """Return the plan with the lowest bill found when it is proven, or when ``watch`` says stop.

    ``cost`` and ``bound`` are bills, and speak of plans that leave the least length uncut.
    """
    lot = material.lot()
    if not lot.reduced.problem.pieces:
        return _nothing(material)
    search = Search([lot], watch)
    search.run()
    if not search.plans:
        return _short(material, watch)
    uses, uncut = restored(material.problem, lot.reduced, search.plans[0])
    proof = _proof(material.problem, lot.reduced, search.cuts[0])
    cost = material.total(uses) or search.cost
    found = Cutting(uses, tuple(uncut), cost, search.bound, proof, exhausted=search.exhausted)
    best = tidied(material, found, watch)
    return _with_cutting(material, best, watch) if material.saw else best


def _with_cutting(material: Material, found: Cutting, watch: Watch) -> Cutting:
    """Return the cheapest plan of the same pieces where cutting counts, from one whose bill is low."""
    planned = reckoned([material.without(found.uncut).cut()], [dict(found.uses)], found.bound, watch)
    uses = tuple(sorted(planned.plans[0].items()))
    proof = Searched(WITH_CUTTING)
    best = replace(found, uses=uses, cost=planned.cost, bound=planned.bound, proof=proof, exhausted=not watch.stopped)
    return tidied(material, best, watch)


def _nothing(material: Material) -> Cutting:
    pieces = material.problem.pieces
    nothing = Duals(1, (0,) * len(pieces))
    return Cutting((), tuple(piece.demand for piece in pieces), 0, 0, nothing, exhausted=True)


def _short(material: Material, watch: Watch) -> Cutting:
    """Return a plan that leaves the least length uncut, where the sticks that can be bought do not suffice.

    No bill is lower than the sticks at the least that one can cost.
    """
    bought = (
        replace(stick, cost=floor(sold.each), limit=sold.most)
        for stick, sold in zip(material.problem.sticks, material.terms.lengths, strict=False)
    )
    problem = replace(material.problem, sticks=(*bought, *material.problem.sticks[material.lengths :]))
    found = solve(problem, watch)
    total = material.total(found.uses)
    cost = found.cost if total is None else total
    part = replace(found, cost=cost, bound=min(found.bound, cost))
    return part if part.proven else _improved(material, part, watch)


def _improved(material: Material, part: Cutting, watch: Watch) -> Cutting:
    """Return a cheaper plan of the same pieces, if there is one."""
    again = material.without(part.uncut)
    lot = again.lot()
    search = Search([lot], watch)
    search.run()
    if search.plans:
        uses, _ = restored(again.problem, lot.reduced, search.plans[0])
        total = material.total(uses)
        if total is not None and total < part.cost:
            part = replace(part, uses=uses, cost=total, bound=min(part.bound, total))
    if material.saw:
        # other pieces may be left uncut for less, so that what bounds these plans bounds no others
        return replace(_with_cutting(material, part, watch), bound=part.bound)
    return part


def together(materials: Sequence[Material], minimum: Minimum, watch: Watch) -> tuple[list[Cutting], int, int] | None:
    """Return plans of several materials whose one order comes to least under a minimum, with its bill and bound.

    None where no order of what can be had suffices, or none was found. The cuttings' own cost and bound are 0.
    """
    lots = [material.lot() for material in materials]
    search = Search(lots, watch, minimum)
    search.run()
    if len(search.plans) < len(lots):
        return None
    plans, cost, bound = [], search.cost, search.bound
    uncut = []
    for material, lot, plan in zip(materials, lots, search.plans, strict=True):
        uses, left = restored(material.problem, lot.reduced, plan)
        plans.append(dict(uses))
        uncut.append(tuple(left))
    if any(material.saw for material in materials):
        cuts = [material.without(left).cut() for material, left in zip(materials, uncut, strict=True)]
        found = reckoned(cuts, plans, bound, watch, minimum)
        plans, cost, bound = list(found.plans), found.cost, found.bound
    cuttings = [
        Cutting(tuple(sorted(uses.items())), left, 0, 0, Searched(WORDS), exhausted=search.exhausted)
        for uses, left in zip(plans, uncut, strict=True)
    ]
    return cuttings, cost, bound


def tidied(material: Material, cutting: Cutting, watch: Watch) -> Cutting:
    """Return the tidiest plan that comes to no more; sticks that come with a carton may be cut too."""
    purchase = cheapest(material.terms, material.sticks(cutting.uses))
    if purchase is None:
        return cutting
    spares = material.terms.spares(1) > 0
    limits = material.sticks(cutting.uses) if spares else purchase.sticks
    sticks = (replace(stick, cost=0, limit=n) for stick, n in zip(material.problem.sticks, limits, strict=False))
    problem = replace(material.problem, sticks=(*sticks, *material.problem.sticks[material.lengths :]))
    tidier = replace(tidy(problem, cutting, watch), cost=cutting.cost)
    total = material.total(tidier.uses)
    return tidier if total is not None and total <= cutting.cost else cutting


def _proof(problem: CuttingProblem, reduced: Reduced, cuts: Sequence[Certificate]) -> Duals | Searched:
    """Return the values by which no cheaper purchase suffices, in the problem's own pieces; else what was done."""
    if not cuts or len(cuts) > MOST_SETS:
        return Searched(WORDS)
    first, *further = (_original(problem, reduced, cut) for cut in cuts)
    return Duals(cuts[0].scale, first, tuple(further))


def _original(problem: CuttingProblem, reduced: Reduced, cut: Certificate) -> tuple[int, ...]:
    values = [0] * len(problem.pieces)
    for kind, value in zip(reduced.kinds, cut.values, strict=True):
        for i in kind:
            values[i] = value
    return tuple(values)
