"""The cheapest purchase that no certificate rules out: a small integer program over cartons, singles and price rows.

Values of pieces give a cut on the numbers ``n`` of sticks (``solver.cutting.stick_counts``), which holds whatever the
sticks are sold for. So the bill is the objective of a master program, and the cutting is asked whether the sticks it
chooses suffice (logic-based Benders decomposition, Hooker and Ottosson 2003)::

    minimise    sum single_lt s_lt + carton_lt c_lt + fixed_l u_l       lengths l, price rows t
    subject to  b_l = sum s_lt + size_l c_lt <= limit_l
                a row is used where its sticks are reached and the next one's are not; one row a length,
                or one level for all
                n_l + spares <= b_l                                      spares of the length used most
                sum ceiling_k n_k >= worth                               every certificate; offcuts are all used
                n_l >= tried_l + 1 for some l                            sticks tried that do not suffice
                goods of all materials >= minimum order, or what is charged below it

CP-SAT computes in whole numbers, so its optimum and its word that there is nothing left are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from solver.buying.bill import NEVER, Bought, Purchase
from solver.buying.terms import Minimum, Sold, Terms, Tier
from solver.cutting.bounds import Certificate
from solver.cutting.count_bounds import Numbers, coarser
from solver.job import BelowMinimum
from solver.lp.cpsat import counted, watched
from solver.lp.lazily import cp_model
from solver.watch import Watch

EFFORT = 1.0
"""CP-SAT's counted work for one purchase, about as many seconds: a cancel is not heard meanwhile."""

ALL_ROWS = 2
"""CP-SAT's word for a linear relaxation of every row: the default leaves out those that hold where a bool does."""

MOST_MORE = 1_000_000
"""More sticks than this are not bought for the sake of a minimum order; no line of an order may have more."""

MOST_BITS = 36
"""Bits of a cut's worth: its terms must add up in 64 bits with any numbers within the ranges."""


@dataclass(frozen=True, slots=True)
class Kinds:
    """The kinds of stick that certificates speak of: which length each is of (None: on hand), and how many there are.

    ``limits`` count for those on hand; the others have those of their length.
    """

    lengths: tuple[int | None, ...]
    limits: tuple[int, ...]

    def numbers(self, sticks: Sequence[int]) -> Numbers:
        """Return numbers of every kind, all that is on hand among them, with so many sticks of each length."""
        pairs = zip(self.lengths, self.limits, strict=True)
        return tuple(limit if length is None else sticks[length] for length, limit in pairs)


class Part:
    """One material's purchases in the program, which grows as cuts are learnt."""

    def __init__(self, model: cp_model.CpModel, terms: Terms, kinds: Kinds, most: int, more: int = 0) -> None:
        """``most``: sticks that a plan can cut at most; ``more``: those worth buying beside them."""
        self._model, self._terms, self._kinds = model, terms, kinds
        self._most, self._more = most, more
        self._prices: list[cp_model.LinearExprT] = []
        self._packs: list[list[tuple[Tier, cp_model.IntVar, cp_model.IntVar]]] = []
        self._fixed: list[cp_model.LinearExprT] = []
        levels = [(level, model.new_bool_var("")) for level in terms.levels]
        model.add_exactly_one(chosen for _, chosen in levels)
        self.bought = [self._sold(sold, levels) for sold in terms.lengths]
        every = cp_model.LinearExpr.sum(list(self.bought))
        for (level, chosen), end in zip(levels, [*terms.levels[1:], None], strict=True):
            model.add(every >= level).only_enforce_if(chosen)
            if end is not None:
                model.add(every < end).only_enforce_if(chosen)
        self.cut = self._with_spares() if terms.spares(1) else self.bought
        self.goods = cp_model.LinearExpr.sum(self._prices)
        worth = [sold.worth * bought for sold, bought in zip(terms.lengths, self.bought, strict=True) if sold.worth]
        self.charged = cp_model.LinearExpr.sum([*self._prices, *worth])
        self.fixed = cp_model.LinearExpr.sum(self._fixed)

    def _sold(self, sold: Sold, levels: Sequence[tuple[int, cp_model.IntVar]]) -> cp_model.LinearExprT:
        """Add what may be bought of one length, and return how many sticks come."""
        model, top = self._model, self._top(sold)
        if sold.together:
            ways = [([tier for tier in sold.tiers if tier.at <= level][-1], on, 0, top) for level, on in levels]
        else:
            ends = [*(tier.at - 1 for tier in sold.tiers[1:]), top]
            ways = [(t, model.new_bool_var(""), t.at, min(end, top)) for t, end in zip(sold.tiers, ends, strict=True)]
            model.add_at_most_one(on for _, on, _, _ in ways)
        amounts: list[cp_model.LinearExprT] = []
        self._packs.append([])
        for tier, on, at, end in ways:
            by_carton = sold.size > 1 or tier.carton != tier.single
            cartons = model.new_int_var(0, top // sold.size * by_carton, "")
            singles = model.new_int_var(0, 0 if tier.single is None else top, "")
            come = cartons * sold.size + singles
            model.add(come <= end * on)
            model.add(come >= at * on)
            amounts.append(come)
            self._packs[-1].append((tier, cartons, singles))
            self._prices.append(cartons * tier.carton + singles * (tier.single or 0))
        bought = sum(amounts)
        model.add(bought <= top)
        if sold.fixed:
            used = model.new_bool_var("")
            model.add(bought <= top * used)
            self._fixed.append(used * sold.fixed)
        return bought

    def _top(self, sold: Sold) -> int:
        """Return how many sticks of a length are worth buying at most."""
        # another length's row may count these sticks too
        reach = max(self._terms.levels[-1], sold.tiers[-1].at)
        worth = max(self._most + self._terms.spares(self._most), reach) + self._more + sold.size
        return worth if sold.most is None else min(sold.most, worth)

    @property
    def beyond(self) -> int:
        """No purchase that this program leaves out because it is too large costs less."""
        endless = [sold for sold in self._terms.lengths if sold.most is None or sold.most > self._top(sold)]
        return min((ceil(self._top(sold) * sold.each) for sold in endless), default=NEVER)

    def _with_spares(self) -> Sequence[cp_model.LinearExprT]:
        """Return the sticks that are cut, which are fewer than those bought by the spares."""
        model, terms = self._model, self._terms
        tops = [self._top(sold) for sold in terms.lengths]
        cut = [model.new_int_var(0, top, "") for top in tops]
        # more than can be had of any length may be asked for
        spares, some = model.new_int_var(0, terms.spares(sum(tops)), ""), model.new_bool_var("")
        model.add(sum(cut) <= sum(tops) * some)
        model.add(terms.share.denominator * (spares - terms.extra * some) >= terms.share.numerator * sum(cut))
        chosen = [model.new_bool_var("") for _ in cut]
        model.add_exactly_one(chosen)
        for own, bought, top, most_used, sold in zip(cut, self.bought, tops, chosen, terms.lengths, strict=True):
            short = model.new_bool_var("") if sold.most is not None else False
            model.add(bought >= own)
            model.add(bought >= own + spares).only_enforce_if(most_used, ~short)
            model.add(bought >= top).only_enforce_if(short)
            for other in cut:
                model.add(own >= other).only_enforce_if(most_used)
        return cut

    def learn(self, cut: Certificate, tried: Sequence[int] | None = None) -> None:
        """Rule out sticks that are together worth less than all pieces.

        Those ``tried`` are ruled out in any case: the cut may do so by less than its coarser numbers show.
        """
        ceilings, worth = coarser(cut, MOST_BITS)
        kinds = list(zip(ceilings, self._kinds.lengths, self._kinds.limits, strict=True))
        given = sum(ceiling * limit for ceiling, length, limit in kinds if length is None)
        yields = sum(ceiling * self.cut[length] for ceiling, length, _ in kinds if length is not None)
        self._model.add(yields >= worth - given)
        if tried is not None and sum(c * tried[k] for c, k, _ in kinds if k is not None) >= worth - given:
            self.exclude(tried)

    def at_least(self, sticks: Sequence[int]) -> None:
        """Ask for so many sticks to cut of each length."""
        for own, count in zip(self.cut, sticks, strict=True):
            self._model.add(own >= count)

    def purchase(self, solver: cp_model.CpSolver) -> Purchase:
        """Return what a solution buys."""
        bought = [
            _bought(sold.size, [(tier, solver.value(c), solver.value(s)) for tier, c, s in packs])
            for sold, packs in zip(self._terms.lengths, self._packs, strict=True)
        ]
        return Purchase(solver.value(self.goods + self.fixed), tuple(bought))

    def exclude(self, sticks: Sequence[int]) -> None:
        """Rule out that no more of any length are cut: so many do not suffice."""
        more = [self._model.new_bool_var("") for _ in sticks]
        for own, count, larger in zip(self.cut, sticks, more, strict=True):
            self._model.add(own >= count + 1).only_enforce_if(larger)
        self._model.add_bool_or(more)


def _bought(size: int, packs: Sequence[tuple[Tier, int, int]]) -> Bought:
    cartons, singles = sum(c for _, c, _ in packs), sum(s for _, _, s in packs)
    cost = sum(c * tier.carton + s * (tier.single or 0) for tier, c, s in packs)
    return Bought(cost, cartons * size + singles, cartons, singles)


class Choice:
    """The program of a whole purchase; each material is a part of it.

    Columns and rows may be added to its ``model``; what they cost goes ``beside`` the bill before it is first asked.
    """

    def __init__(self, minimum: Minimum | None = None) -> None:
        """Start without materials."""
        self.model = cp_model.CpModel()
        self.beside: list[cp_model.LinearExprT] = []
        self._minimum = minimum
        self._bill: cp_model.LinearExprT | None = None
        self._beyond = NEVER
        self.parts: list[Part] = []
        self.purchases: list[Purchase] = []
        self.solved: cp_model.CpSolver | None = None

    def add(self, terms: Terms, kinds: Kinds, most: int) -> Part:
        """Add a material, of which a plan can cut at most so many sticks."""
        amount = self._minimum.reached if self._minimum else 0
        more = -(-amount // max(1, floor(min(sold.each + sold.worth for sold in terms.lengths))))
        self.parts.append(Part(self.model, terms, kinds, most, min(more, MOST_MORE)))
        if more > MOST_MORE:
            self._beyond = min(self._beyond, self.parts[-1].beyond)
        return self.parts[-1]

    def cheapest(self, below: int, watch: Watch, effort: float = EFFORT) -> tuple[int, list[tuple[int, ...]] | None]:
        """Return a bound on the bill of all purchases that are not ruled out, and the sticks that the cheapest cuts.

        Bills from ``below`` on are of no interest. There are no sticks where all cost that much, or it was not decided.
        """
        self.solved = None
        if watch.stopped:
            return 0, None
        solver, bill = counted(effort, watch), self._cost()
        solver.parameters.linearization_level = ALL_ROWS
        self.model.minimize(bill)
        status = watched(solver, self.model, watch) if effort > EFFORT else solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return min(below, self._beyond), None
        if status not in (cp_model.FEASIBLE, cp_model.OPTIMAL):
            return 0, None
        self.solved, self.purchases = solver, [part.purchase(solver) for part in self.parts]
        bound = max(0, min(int(solver.best_objective_bound), below, self._beyond))
        if status == cp_model.FEASIBLE:
            return bound, None
        found = solver.value(bill)
        if found >= below:
            return min(below, self._beyond), None
        return min(found, self._beyond), [tuple(solver.value(cut) for cut in part.cut) for part in self.parts]

    def _cost(self) -> cp_model.LinearExprT:
        """Return what the whole purchase comes to, with what is charged below a minimum order and what is beside it."""
        if self._bill is None:
            bills = [part.goods + part.fixed for part in self.parts]
            self._bill = cp_model.LinearExpr.sum([*bills, self._addition(), *self.beside])
        return self._bill

    def _addition(self) -> cp_model.LinearExprT:
        """Return what is charged on top of the goods of an order, if anything is bought."""
        minimum, model = self._minimum, self.model
        if minimum is None:
            return 0
        goods: cp_model.LinearExpr = cp_model.LinearExpr.sum([part.charged for part in self.parts])
        ordered = model.new_bool_var("")
        for part in self.parts:
            for bought in part.bought:
                model.add(bought == 0).only_enforce_if(~ordered)
        charges = [ordered * minimum.order, self._small(minimum, goods, ordered)]
        if minimum.delivery:
            charges.append(self._unless(goods, minimum.free_from, ordered) * minimum.delivery)
        return cp_model.LinearExpr.sum(charges)

    def _small(self, minimum: Minimum, goods: cp_model.LinearExpr, ordered: cp_model.IntVar) -> cp_model.LinearExprT:
        """Return what is charged for a small order; one that is refused is ruled out."""
        if minimum.below is BelowMinimum.FEE:
            return self._unless(goods, minimum.amount, ordered) * minimum.fee
        if minimum.below is BelowMinimum.REFUSED:
            self.model.add(goods >= minimum.amount * ordered)
            return 0
        missing = self.model.new_int_var(0, minimum.amount, "")
        self.model.add(missing + goods >= minimum.amount * ordered)
        return missing

    def _unless(self, goods: cp_model.LinearExpr, least: int | None, ordered: cp_model.IntVar) -> cp_model.IntVar:
        """Return whether something is charged that is not where the goods come to ``least``."""
        charged = self.model.new_bool_var("")
        if least is None:
            self.model.add_implication(ordered, charged)
            return charged
        enough = self.model.new_bool_var("")
        self.model.add(goods >= least * enough)
        self.model.add_bool_or(~ordered, enough, charged)
        return charged
