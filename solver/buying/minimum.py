"""The order of one supplier: what it comes to with minimum order, order cost and delivery, and by what sticks.

Each material is planned to its own lowest bill first. Where all of them together reach what is asked, that is the
cheapest order there is. Where they don't, all materials without runs are sought anew as one order; sticks of runs stay
as they are, and more may be bought beside them.

What each material costs at the least bounds the order too: below the minimum it comes to that minimum, or to what is
charged on top.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from solver.assignment import Filled, fill
from solver.buying.billing import cut_cost
from solver.buying.order import Order, goods_of, order_of
from solver.buying.purchase import Material as Cut
from solver.buying.purchase import together
from solver.buying.saw import saw_of
from solver.buying.terms import Minimum, Terms, prices_of, terms_of
from solver.demand import Demand, step_of
from solver.job import Notice, Supplier
from solver.order import lines_for
from solver.plan import Bill, OrderLine
from solver.watch import Watch

Planned = tuple[Demand, Filled]


@dataclass(frozen=True, slots=True)
class Ordered:
    """Priced materials as they are planned for one order, with the lines of each, and the bill of all of them."""

    filled: tuple[Filled, ...]
    lines: tuple[tuple[OrderLine, ...], ...]
    bill: Bill
    notices: tuple[Notice, ...]


def ordered(supplier: Supplier, planned: Sequence[Planned], watch: Watch) -> Ordered:
    """Return the cheapest order found of the priced materials of a job that a supplier sells."""
    step = step_of((*supplier.amounts, *(p for demand, _ in planned for p in prices_of(demand.material))))
    rule = Minimum.of(supplier, step)
    terms = [terms_of(demand.material, step, saw_of(demand.material, step)) for demand, _ in planned]
    least = [int(filled.bound * demand.cost_step / step) for demand, filled in planned]
    bound = _least(rule, planned, sum(least)) if all(filled.least_uncut for _, filled in planned) else 0
    best, order = [filled for _, filled in planned], _order(planned, terms, rule, watch)
    total = order.cost + _cutting(planned, step)
    if total > bound and not any(demand.runs or filled.not_cut for demand, filled in planned):
        pairs = zip(planned, terms, strict=True)
        cuts = [Cut(demand.problem(), own, saw_of(demand.material, step)) for (demand, _), own in pairs]
        if found := together(cuts, rule, watch):
            cuttings, cost, proven = found
            bound = max(bound, proven)
            if cost < total or order.refused:
                anew = zip(planned, cuttings, strict=True)
                best = [_anew(before, fill(demand, cutting)) for (demand, before), cutting in anew]
                order = _order(_now(planned, best), terms, rule, watch)
    written = _written(planned, best, terms, order, bound, step)
    any_bought = any(lines for lines in written.lines)
    charged = [amount * any_bought for amount in (supplier.order_cost, supplier.delivered(written.bill.goods))]
    small = written.bill.small_order - sum(charged)
    bill = replace(written.bill, small_order=small, order_cost=charged[0], delivery=charged[1], supplier=supplier.name)
    return replace(written, bill=bill)


def _now(planned: Sequence[Planned], best: Sequence[Filled]) -> list[Planned]:
    return [(demand, filled) for (demand, _), filled in zip(planned, best, strict=True)]


def _cutting(planned: Sequence[Planned], step: Decimal) -> int:
    """Return what cutting counts, in steps."""
    return sum(int(cut_cost(demand, filled) * demand.cost_step / step) for demand, filled in planned)


def _anew(before: Filled, now: Filled) -> Filled:
    """Return a plan made anew with what is known of its material by itself."""
    return replace(now, bound=before.bound, proof=before.proof, exhausted=before.exhausted)


def _order(planned: Sequence[Planned], terms: Sequence[Terms], rule: Minimum, watch: Watch) -> Order:
    sticks = [_counts(demand, filled) for demand, filled in planned]
    order = order_of(terms, sticks, rule, watch)
    if order is None:
        endless = [replace(own, lengths=tuple(replace(sold, limit=None) for sold in own.lengths)) for own in terms]
        order = order_of(endless, sticks, rule, watch)
    if order is None:
        raise AssertionError("without limits everything can be bought")
    return order


def _counts(demand: Demand, filled: Filled) -> list[int]:
    counts = Counter(stick.source.stock for stick in filled.sticks)
    return [counts[row.id] for row in demand.material.stock]


def _least(rule: Minimum, planned: Sequence[Planned], bound: int) -> int:
    """Return what no order comes to less than, of materials that come to ``bound`` at the least by themselves.

    Where cutting counts, they may do so though little or nothing is bought.
    """
    if not bound or any(demand.material.settings.reckons for demand, _ in planned):
        return bound
    return rule.least(bound)


def _written(
    planned: Sequence[Planned], best: Sequence[Filled], terms: Sequence[Terms], order: Order, bound: int, step: Decimal
) -> Ordered:
    pairs = [*zip(terms, order.purchases, strict=True)]
    goods = sum(goods_of(own, purchase) for own, purchase in pairs)
    worth = sum(sold.worth * n for own, purchase in pairs for sold, n in zip(own.lengths, purchase.sticks, strict=True))
    fixed = order.cost - order.addition - goods + worth
    now = _now(planned, best)
    cutting = _cutting(now, step)
    least = min(bound, order.cost + cutting)
    bill = Bill(goods * step, fixed * step, order.addition * step, least * step, (cutting - worth) * step)
    filled, lines = [], []
    for (demand, new), sold, purchase in zip(now, terms, order.purchases, strict=True):
        cost = int(purchase.cost * step / demand.cost_step) + cut_cost(demand, new)
        # what the fewest laps would take is held against the sticks alone, not against what an order lacks
        fewest = new.fewest if cost == new.cost else None
        filled.append(replace(new, cost=cost, bound=min(new.bound, cost), fewest=fewest))
        lines.append(lines_for(demand.material, _counts(demand, new), sold, purchase, step))
    whose = f" of {planned[0][0].material.supplier}" if planned[0][0].material.supplier else ""
    notices = [Notice("below_minimum", f"the goods come to {goods * step:f}, below the minimum order{whose}")]
    return Ordered(tuple(filled), tuple(lines), bill, tuple(notices * order.refused))
