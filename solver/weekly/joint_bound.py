"""A bound on the bill of all materials together in the van that there is, however small it is.

Let ``v`` be duals of pieces and ``t`` of places in the van each night, both not negative. If no allowed pattern of
stick ``s`` is worth more than ``b_s``, its pieces less its nights, then any plan that cuts every piece costs at least

    sum demand_i v_i - sum room_n t_n - sum limit_s max(0, b_s - cost_s)

provided that ``b_s <= cost_s`` where a stick has no limit; duals that break this are all made smaller in proportion
(Farley 1990, "A note on bounding a class of linear programming problems, including cutting stock problems"). The
duals are those of the linear program rounded to whole numbers, and ``b_s`` is found by the pricer, whose sums of
whole numbers are exact in floating point.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import gcd

from solver.weekly.generation import Duals, MasterSolution
from solver.weekly.material_week import MaterialWeek
from solver.weekly.pricing import TimedPricer
from solver.weekly.timed import Van

FINE = 1_000
"""Duals are counted in so small a part of a step of money."""


@dataclass(frozen=True, slots=True)
class _Bounded:
    """One stick of one material: what it costs and how many there are, and the most that a pattern of it is worth."""

    cost: int
    limit: int | None
    best: int


def joint_bound(weeks: Sequence[MaterialWeek], solution: MasterSolution, van: Van) -> int | None:
    """Return what no plan of these materials that cuts every piece costs less than, in ten-thousandths of money.

    None where one of them has no prices, or runs, whose laps could be laid otherwise, or lengths too fine to be
    priced exactly.
    """
    pricers = [TimedPricer(week.problem, fee=0.0) for week in weeks]
    if not all(w.material.priced and not w.has_runs and p.exact for w, p in zip(weeks, pricers, strict=True)):
        return None
    # the nights are the same for all, so what a place is worth must be one number: that of the first, in its steps
    tolls = {night: round(toll * weeks[0].cost_scale * FINE) for night, toll in solution.duals[0].nights.items()}
    wanted, sticks = -sum(room * tolls[night] for night, room in van.items()), []
    for week, pricer, duals in zip(weeks, pricers, solution.duals, strict=True):
        values = [round(value * week.cost_scale * FINE) for value in duals.pieces]
        wanted += sum(piece.demand * value for piece, value in zip(week.problem.pieces, values, strict=True))
        sticks += list(_bounded(week, pricer, Duals(tuple(map(float, values)), (), tolls)))
    return _rounded_up(_least(wanted, sticks), weeks)


def _bounded(week: MaterialWeek, pricer: TimedPricer, duals: Duals) -> Iterator[_Bounded]:
    demands = [piece.demand for piece in week.problem.pieces]
    for place, supply in enumerate(week.problem.supplies):
        if supply.limit != 0:
            best = pricer.best(place, duals.pieces, demands, duals.nights, 1)
            # a piece that needs both ends is a stick by itself, which the pricer leaves out
            whole = [v for v, p in zip(duals.pieces, week.problem.pieces, strict=True) if p.left and p.right]
            most = max([worth for worth, _ in best] + whole, default=0.0)
            yield _Bounded(supply.cost * week.cost_scale * FINE, supply.limit, int(most))


def _least(wanted: int, sticks: Sequence[_Bounded]) -> Fraction:
    """Return the bound, its duals made smaller as far as sticks without limit ask for it."""
    over = [Fraction(s.cost, s.best) for s in sticks if s.limit is None and s.best > s.cost]
    share = min(over, default=Fraction(1))
    charges = sum(max(Fraction(0), share * s.best - s.cost) * s.limit for s in sticks if s.limit)
    return share * wanted - charges


def _rounded_up(least: Fraction, weeks: Sequence[MaterialWeek]) -> int:
    """Return the smallest bill from ``least`` on that whole sticks can come to."""
    step = gcd(*(supply.cost * week.cost_scale for week in weeks for supply in week.problem.supplies)) or 1
    return max(0, -(-least // (step * FINE)) * step)
