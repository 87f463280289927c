"""Which columns a good plan can use: those that cost little more than what the prices say they are worth.

A plan's cost is the bound plus the reduced costs of its columns, so columns of large reduced cost are of no use.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from solver.laps.columns import NONE, Cut, Split
from solver.laps.dealing import layouts_of
from solver.laps.prices import Floats, PriceList
from solver.laps.site import Site

Column = Cut | Split


def by_reduced_cost(site: Site, prices: PriceList, columns: Iterable[Column]) -> list[tuple[float, Column]]:
    """Return the columns with their reduced costs, least first; splits compared with the cheapest of their class."""
    first = [prices.prices.first[kinds] for kinds in site.sides[0]]
    last = [prices.prices.last[kinds] for kinds in site.sides[1]]
    net = [(column, _net(column, prices, first, last)) for column in columns]
    least: dict[int, float] = {}
    for column, cost in net:
        if isinstance(column, Split):
            least[column.alike] = min(least.get(column.alike, cost), cost)
    reduced = ((cost - least[c.alike] if isinstance(c, Split) else cost, n, c) for n, (c, cost) in enumerate(net))
    return [(cost, c) for cost, _, c in sorted(reduced, key=lambda entry: entry[:2]) if _can_be_laid(site, c)]


def _can_be_laid(site: Site, column: Column) -> bool:
    """Whether a split is one of whole ticks within its run's range, which bounds may overstep to the next cell."""
    if isinstance(column, Cut) or column.alike not in site.alike:
        return True
    return any(True for _ in layouts_of(site, site.alike.index(column.alike), column))


def _net(column: Column, prices: PriceList, first: Sequence[Floats], last: Sequence[Floats]) -> float:
    slots = 0.0 if column.first == NONE else float(first[column.first][column.first_cells])
    slots += 0.0 if column.last == NONE else float(last[column.last][column.last_cells])
    if isinstance(column, Split):
        return sum(prices.cost[k] for k in column.wholes) + slots
    return prices.cost[column.kind] - slots - sum(float(prices.prices.plain[p]) for p in column.plain)
