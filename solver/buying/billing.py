"""Materials on buying terms: their cost is the bill, in cutting and in runs.

Pieces are cut to the lowest bill (``solver.buying``). Runs are laid at prices for single sticks, the lowest that each
can come to, so that the bound holds for the bill, and again at what sticks came to then; the plan with the lowest bill
is kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from math import floor

from solver.assignment import Filled, FilledStick, fill
from solver.buying.bill import Purchase, cheapest
from solver.buying.choice import least_bill
from solver.buying.purchase import Material, buy
from solver.buying.saw import Saw, saw_of
from solver.buying.terms import Terms, has_terms, terms_of
from solver.demand import Demand, Source
from solver.watch import Watch

Cover = Callable[[Demand, Watch], Filled]
"""Lays a demand's runs and cuts its pieces, at prices for single sticks."""

FIRST = 0.6
"""The share of the time in which runs are laid at the lowest prices."""


def on_terms(demand: Demand) -> bool:
    """Whether cost is more than sticks times a price: by rules, by a minimum order, or by what cutting counts."""
    ordered_together = demand.job.minimum_order is not None and demand.material.priced
    return ordered_together or has_terms(demand.material) or _saw(demand) is not None


def bought(demand: Demand, watch: Watch) -> Filled:
    """Plan a material that has no runs to the lowest bill."""
    return fill(demand, buy(Material(demand.problem(), _terms(demand), _saw(demand)), watch))


def billed(demand: Demand, filled: Filled) -> Filled:
    """Return a plan with what its sticks cost to buy and to cut, where that is more than their number times a price."""
    purchase = _purchase(demand, filled.sticks) if on_terms(demand) else None
    return filled if purchase is None else replace(filled, cost=purchase.cost + cut_cost(demand, filled))


def cut_cost(demand: Demand, filled: Filled) -> int:
    """Return what cutting a plan's sticks counts, in steps of its demand."""
    saw = _saw(demand)
    kerf = demand.material.settings.kerf
    ways = Counter((s.source.stick.length, tuple(sorted(kind.takes for kind in s.kinds))) for s in filled.sticks)
    return saw.total(ways, kerf) if saw else 0


def covered(demand: Demand, watch: Watch, cover: Cover) -> Filled:
    """Plan a material with runs: the cheapest bill of the plans made at several prices for single sticks."""
    terms = _terms(demand)
    lowest = [floor(sold.each) for sold in terms.lengths]
    first = cover(_priced(demand, terms, lowest), watch.within(watch.left * FIRST).quiet())
    best = billed(demand, first)
    bound = first.bound
    if first.least_uncut and not first.not_cut:
        bound = least_bill(terms, lowest, first.bound, best.cost, watch)
    if best.cost > bound:
        again = billed(demand, cover(_priced(demand, terms, _came_to(demand, best)), watch.quiet()))
        if again.not_cut == best.not_cut and again.cost < best.cost:
            best = again
    return replace(best, bound=min(bound, best.cost), least_uncut=first.least_uncut, proof=first.proof)


def _terms(demand: Demand) -> Terms:
    return terms_of(demand.material, demand.cost_step, _saw(demand))


def _saw(demand: Demand) -> Saw | None:
    return saw_of(demand.material, demand.cost_step)


def _purchase(demand: Demand, sticks: Sequence[FilledStick]) -> Purchase | None:
    return cheapest(_terms(demand), _counts(demand, sticks))


def _counts(demand: Demand, sticks: Sequence[FilledStick]) -> list[int]:
    counts = Counter(stick.source.stock for stick in sticks)
    return [counts[row.id] for row in demand.material.stock]


def _priced(demand: Demand, terms: Terms, prices: Sequence[int]) -> Demand:
    """Return the demand with these prices for single sticks, and no more of them than cartons allow."""

    def source(place: int, given: Source) -> Source:
        if place >= len(prices):
            return given
        return replace(given, stick=replace(given.stick, cost=prices[place], limit=terms.lengths[place].most))

    return replace(demand, sources=tuple(source(place, given) for place, given in enumerate(demand.sources)))


def _came_to(demand: Demand, filled: Filled) -> list[int]:
    """Return what a stick of each length costs when as many are bought of it as of all lengths together now."""
    terms, total = _terms(demand), max(1, sum(_counts(demand, filled.sticks)))
    prices = []
    for place, sold in enumerate(terms.lengths):
        wanted = [0] * len(terms.lengths)
        wanted[place] = total if sold.most is None else max(1, min(total, sold.most))
        purchase = cheapest(replace(terms, share=terms.share * 0, extra=0), wanted)
        prices.append(round(purchase.cost / wanted[place]) if purchase else floor(sold.each))
    return prices
