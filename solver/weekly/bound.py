"""What a crew leader asks: what the jobs cost alone, what they cost pooled, and what nothing can go below.

A material's bound is that of the pooled week as if all were cut on one day, and no van too small: every plan of the
week is a plan of that problem too, so the engine's proven bound holds. Runs longer than a stick are laid day by day;
of a material with runs only the length is counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from solver.allowances import of_pieces
from solver.buying.terms import has_terms
from solver.cutting import Cutting, solve
from solver.demand import cost_step
from solver.watch import Watch
from solver.weekly.material_week import COST_UNITS, JobBaseline, MaterialWeek
from solver.weekly.plan import Compared, Figures
from solver.weekly.pooling import Pooled
from solver.weekly.timed import TimedProblem


def cost_bound(pooled: Pooled) -> int | None:
    """Return a bound on what the material's new sticks cost, in its cost steps; None if none is known."""
    problem = pooled.week.problem
    if pooled.week.has_runs:
        return _by_length(pooled, problem) if not _uncut(pooled) else None
    if pooled.optimal:
        return sum(times * problem.supplies[pattern.stick].cost for pattern, times in pooled.uses.items())
    return _relaxed_bound(pooled, pooled.week.relaxed)


def stick_bound(pooled: Pooled, watch: Watch) -> int | None:
    """Return a bound on how many sticks are bought; None if none is known."""
    problem = pooled.week.problem
    supplies = tuple(replace(supply, cost=int(supply.cost > 0)) for supply in problem.supplies)
    counted = replace(problem, supplies=supplies)
    if pooled.week.has_runs:
        return _by_length(pooled, counted) if not _uncut(pooled) else None
    return _relaxed_bound(pooled, solve(counted.relaxed(), watch))


def _relaxed_bound(pooled: Pooled, relaxed: Cutting) -> int | None:
    """Return the bound of the relaxed problem; a plan that leaves more uncut than it may cost less."""
    pieces = pooled.week.problem.relaxed().pieces
    uncut = sum(n * piece.length for n, piece in zip(relaxed.uncut, pieces, strict=True))
    return relaxed.bound if relaxed.least_uncut and uncut == _uncut(pooled) else None


def _uncut(pooled: Pooled) -> int:
    problem = pooled.week.problem
    wanted = sum(piece.demand * piece.length for piece in problem.pieces)
    cut = sum(times * problem.pieces[i].length for pattern, times in pooled.uses.items() for i in pattern.pieces)
    runs = sum(
        entry.quantity for one in pooled.week.baselines for entry in one.filled.not_cut if _is_run(one, entry.item)
    )
    return wanted - cut + runs


def _is_run(one: JobBaseline, item: int) -> bool:
    return item in one.demand.runs


def _by_length(pooled: Pooled, problem: TimedProblem) -> int:
    """Return the cost of the length that is wanted at the best price of length, less what costs nothing."""
    wanted = sum(_wanted(one) for one in pooled.week.baselines)
    free = sum(s.length * (s.limit or 0) for s in problem.supplies if not s.cost)
    rates = [Fraction(supply.cost, supply.length) for supply in problem.supplies if supply.cost and supply.limit != 0]
    return max(0, -int(-(wanted - free) * min(rates) // 1)) if rates else 0


def _wanted(one: JobBaseline) -> int:
    """Return the least length that a job's pieces and runs take up, in ticks: a lap may be left out, a gap not."""
    pieces = sum(k.takes * len(c) for k, c in zip(one.demand.kinds, one.demand.claims, strict=True))
    material = one.demand.material
    asked = of_pieces(material)
    lapless = replace(asked, lap=0)
    shortest = min(row.length for row in material.stock if row.available != 0)
    runs = 0
    for required in (one.demand.job.required[item] for item in one.demand.runs):
        gaps = 2 + required.length // shortest + material.settings.most_extra_laps
        runs += required.pieces * (lapless.cut_length(required) + min(0, asked.lap) * (gaps + 2))
    return pieces + runs


def compared(pooled: Pooled, watch: Watch) -> Compared:
    """Return the figures of one material."""
    week = pooled.week
    step = cost_step(week.material)
    alone = _figures(week, (place for one in week.baselines for place in one.places), step)
    found = _figures(week, (p.stick for p, times in pooled.uses.items() for _ in range(times)), step)
    # what single sticks come to bounds no bill at price breaks
    bound = None if has_terms(week.material) else _bound_figures(pooled, step, watch)
    return Compared(week.material.id, week.material.priced, alone, found, bound)


def bill_bound(compared: Sequence[Compared], together: int | None) -> Decimal | None:
    """Return what no plan of the week costs less than: the materials' bounds, or that of all together if higher.

    ``together`` is in ten-thousandths. None where a material has no prices, or nothing is known.
    """
    bounds = [entry.bound for entry in compared if entry.bound is not None]
    each = [sum((bound.cost for bound in bounds), Decimal(0))] if len(bounds) == len(compared) else []
    known = [*each, *([Decimal(together) / COST_UNITS] if together is not None else [])]
    return max(known) if known and all(entry.priced for entry in compared) else None


def _bound_figures(pooled: Pooled, step: Decimal, watch: Watch) -> Figures | None:
    cost = cost_bound(pooled)
    if cost is None:
        return None
    hand = pooled.week.hand
    costs = {supply.cost for supply in hand.supplies[: hand.rows]}
    sticks = -(-cost // max(costs)) if len(costs) == 1 and max(costs) else stick_bound(pooled, watch)
    return Figures(sticks or 0, cost * step)


def _figures(week: MaterialWeek, places: Iterable[int], step: Decimal) -> Figures:
    costs = [week.hand.supplies[place].cost for place in places if week.hand.orderable(place)]
    return Figures(len(costs), sum(costs) * step)
