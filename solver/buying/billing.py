"""Materials on buying terms: their cost is the bill, in cutting and in runs.

Pieces are cut to the lowest bill (``solver.buying``), and runs are laid to it (``solver.laps``): to them a stick alone
costs the least that it can come to, so that what their linear program says holds for any bill.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from math import floor

from solver.assignment import Filled, FilledStick, fill
from solver.buying.bill import Purchase, cheapest
from solver.buying.purchase import Material, buy
from solver.buying.saw import Saw, saw_of
from solver.buying.terms import Terms, has_terms, terms_of
from solver.demand import Demand
from solver.watch import Watch

Cover = Callable[[Demand, Watch], Filled]
"""Lays a demand's runs and cuts its pieces."""


def on_terms(demand: Demand) -> bool:
    """Whether cost is more than sticks times a price: by rules, by a minimum order, or by what cutting counts."""
    ordered_together = demand.job.charged and demand.material.priced
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
    """Plan a material with runs to the lowest bill; what cutting counts is added to it afterwards."""
    terms, given = _terms(demand), demand.sources
    lengths = tuple(replace(sold, limit=s.stick.limit) for sold, s in zip(terms.lengths, given, strict=False))
    lowest = (
        replace(source, stick=replace(source.stick, cost=floor(sold.each), limit=sold.most))
        for source, sold in zip(given, lengths, strict=False)
    )
    sources = (*lowest, *given[len(lengths) :])
    filled = cover(replace(demand, sources=sources, terms=replace(terms, lengths=lengths)), watch)
    return billed(demand, filled) if _saw(demand) else filled


def _terms(demand: Demand) -> Terms:
    return terms_of(demand.material, demand.cost_step, _saw(demand))


def _saw(demand: Demand) -> Saw | None:
    return saw_of(demand.material, demand.cost_step)


def _purchase(demand: Demand, sticks: Sequence[FilledStick]) -> Purchase | None:
    return cheapest(_terms(demand), _counts(demand, sticks))


def _counts(demand: Demand, sticks: Sequence[FilledStick]) -> list[int]:
    counts = Counter(stick.source.stock for stick in sticks)
    return [counts[row.id] for row in demand.material.stock]
