"""A material of the week that is sold by rules: what a stick counts for while it is cut, and what all of them come to.

A stick counts for what it comes to in the cheapest purchase for all the week, as if cut on one day. That says nothing
of one stick more or less: it may come with a carton for nothing, or ask for a carton of its own. So the week is cut
from the sticks of that purchase alone first, where they do; else purchases and dated patterns are one program
(``choosing``). All that is bought may come with the first delivery, so that the days tell purchases apart by the
sticks they ask for alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from solver.assignment import Filled
from solver.buying.bill import Purchase, cheapest
from solver.buying.billing import covered
from solver.buying.purchase import Material as Lot
from solver.buying.purchase import buy
from solver.buying.terms import Terms, has_terms, terms_of
from solver.cutting import Cutting, CuttingProblem, Pattern
from solver.demand import Demand, cost_step
from solver.materials import Material
from solver.walls.runs import cover
from solver.watch import Watch
from solver.weekly.state import Hand, WeekState
from solver.weekly.timed import Supply


@dataclass(frozen=True, slots=True)
class Purchased:
    """The terms without spares, the cheapest plan as if on one day, and how many sticks of each length come with it."""

    terms: Terms
    cutting: Cutting
    sticks: tuple[int, ...]

    def purchase(self, uses: Mapping[Pattern, int]) -> Purchase | None:
        """Return the cheapest purchase of a plan's sticks; None where so many can't be had."""
        return cheapest(self.terms, _counts(self.terms, uses))


def _counts(terms: Terms, uses: Mapping[Pattern, int]) -> list[int]:
    counts = [0] * len(terms.lengths)
    for pattern, times in uses.items():
        if pattern.stick < len(counts):
            counts[pattern.stick] += times
    return counts


def laid_by_bill(demand: Demand, watch: Watch, *, draft: bool = False) -> Filled:
    """Lay a material's runs: to what all its sticks come to in one purchase, where it is sold by rules."""

    def lay(asked: Demand, watch: Watch) -> Filled:
        given = {id(source): own for source, own in zip(asked.sources, demand.sources, strict=True)}
        filled = cover(asked, watch, draft=draft)
        # to the bill a stick costs otherwise, but it is the same stick
        return replace(filled, sticks=tuple(replace(each, source=given[id(each.source)]) for each in filled.sticks))

    return covered(demand, watch, lay) if has_terms(demand.material) else cover(demand, watch, draft=draft)


def as_purchased(
    state: WeekState, material: Material, hand: Hand, problem: CuttingProblem, watch: Watch
) -> tuple[Hand, Purchased | None]:
    """Return what there is, priced by the cheapest purchase, and that; as it was where nothing is sold by rules."""
    if not has_terms(material):
        return hand, None
    bought = _purchased(state, material, problem, watch)
    return _priced(hand, bought), bought


def _purchased(state: WeekState, material: Material, problem: CuttingProblem, watch: Watch) -> Purchased:
    """Return the cheapest purchase for a material's pieces of the whole week."""
    lot = Lot(problem, replace(state.terms(material), share=Fraction(0), extra=0))
    cutting = buy(lot, watch)
    sticks = lot.sticks(cutting.uses)
    found = cheapest(lot.terms, sticks)
    return Purchased(lot.terms, cutting, found.sticks if found else sticks)


def least_costs(supplies: Sequence[Supply], bought: Purchased | None) -> list[Fraction]:
    """Return the least that a stick of each supply may cost: as it is sold by rules, or what it costs."""
    sold = bought.terms.lengths if bought else ()
    return [sold[k].each if k < len(sold) else Fraction(supply.cost) for k, supply in enumerate(supplies)]


def without_spares(material: Material) -> Terms:
    """Return a material's terms for the sticks that are cut alone: the bills of several deliveries come to no less."""
    return replace(terms_of(material, cost_step(material)), share=Fraction(0), extra=0)


def _priced(hand: Hand, bought: Purchased) -> Hand:
    """Return what there is, a stick at what it comes to in the purchase; of a length not bought, at what one does."""
    sticks, terms = _counts(bought.terms, dict(bought.cutting.uses)), bought.terms
    purchase = cheapest(terms, sticks)
    supplies = list(hand.supplies)
    for k, sold in enumerate(terms.lengths):
        cost, count = (purchase.bought[k].cost, purchase.bought[k].sticks) if purchase else (0, 0)
        if not count:
            alone = cheapest(terms, [int(j == k) for j in range(len(sticks))])
            cost, count = (alone.cost, 1) if alone else (sold.tiers[0].carton, sold.size)
        supplies[k] = replace(supplies[k], cost=max(1, round(cost / count)))
    return replace(hand, supplies=tuple(supplies))


def limited(hand: Hand, sticks: Sequence[int]) -> Hand:
    """Return what there is with no more to order than so many sticks of each length."""
    supplies = list(hand.supplies)
    for k, count in enumerate(sticks):
        supplies[k] = replace(supplies[k], limit=count)
    return replace(hand, supplies=tuple(supplies))
