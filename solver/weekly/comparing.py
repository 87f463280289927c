"""What a crew leader asks: what the jobs would cost alone, what they cost pooled, and what nothing can go below."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from solver.demand import cost_step
from solver.watch import Watch
from solver.weekly.bounds import least_cost, least_sticks
from solver.weekly.material_week import COST_UNITS, MaterialWeek
from solver.weekly.plan import Compared, Figures
from solver.weekly.pooling import Pooled


def compared(pooled: Pooled, watch: Watch) -> Compared:
    """Return the figures of one material."""
    week = pooled.week
    step = cost_step(week.material)
    alone = _figures(week, (place for one in week.alone for place in one.places), step)
    found = _figures(week, (p.stick for p, times in pooled.uses.items() for _ in range(times)), step)
    return Compared(week.material.id, week.material.priced, alone, found, _bound(pooled, step, watch))


def least_bill(compared: Sequence[Compared], together: int | None) -> Decimal | None:
    """Return what no plan of the week costs less than: the materials' bounds, or that of all together if higher.

    ``together`` is in ten-thousandths. None where a material has no prices, or nothing is known.
    """
    bounds = [entry.bound for entry in compared if entry.bound is not None]
    each = [sum((bound.cost for bound in bounds), Decimal(0))] if len(bounds) == len(compared) else []
    known = [*each, *([Decimal(together) / COST_UNITS] if together is not None else [])]
    return max(known) if known and all(entry.priced for entry in compared) else None


def _bound(pooled: Pooled, step: Decimal, watch: Watch) -> Figures | None:
    cost = least_cost(pooled)
    if cost is None:
        return None
    hand = pooled.week.hand
    costs = {supply.cost for supply in hand.supplies[: hand.rows]}
    sticks = -(-cost // max(costs)) if len(costs) == 1 and max(costs) else least_sticks(pooled, watch)
    return Figures(sticks or 0, cost * step)


def _figures(week: MaterialWeek, places: Iterable[int], step: Decimal) -> Figures:
    costs = [week.hand.supplies[place].cost for place in places if week.hand.orderable(place)]
    return Figures(len(costs), sum(costs) * step)
