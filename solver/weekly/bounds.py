"""What no plan of the week can go below: the pooled week as if all were cut on one day, and no van too small.

Every dated plan is a plan of that problem too, so the engine's proven bound holds. Runs longer than a stick are laid
day by day; of a material with runs only the length is counted.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from solver.allowances import of_pieces
from solver.cutting import Cutting, solve
from solver.watch import Watch
from solver.weekly.alone import AloneJob
from solver.weekly.dated import DatedProblem
from solver.weekly.pooling import Pooled


def least_cost(pooled: Pooled) -> int | None:
    """Return a bound on what the material's new sticks cost, in its cost steps; None if none is known."""
    problem = pooled.week.problem
    if pooled.week.has_runs:
        return _by_length(pooled, problem) if not _uncut(pooled) else None
    if pooled.least:
        return sum(times * problem.supplies[pattern.stick].cost for pattern, times in pooled.uses.items())
    return _bound(pooled, pooled.week.relaxed)


def least_sticks(pooled: Pooled, watch: Watch) -> int | None:
    """Return a bound on how many sticks are bought; None if none is known."""
    problem = pooled.week.problem
    supplies = tuple(replace(supply, cost=int(supply.cost > 0)) for supply in problem.supplies)
    counted = replace(problem, supplies=supplies)
    if pooled.week.has_runs:
        return _by_length(pooled, counted) if not _uncut(pooled) else None
    return _bound(pooled, solve(counted.relaxed(), watch))


def _bound(pooled: Pooled, relaxed: Cutting) -> int | None:
    """Return the bound of the relaxed problem; a plan that leaves more uncut than it may cost less."""
    pieces = pooled.week.problem.relaxed().pieces
    uncut = sum(n * piece.length for n, piece in zip(relaxed.uncut, pieces, strict=True))
    return relaxed.bound if relaxed.least_uncut and uncut == _uncut(pooled) else None


def _uncut(pooled: Pooled) -> int:
    problem = pooled.week.problem
    wanted = sum(piece.demand * piece.length for piece in problem.pieces)
    cut = sum(times * problem.pieces[i].length for pattern, times in pooled.uses.items() for i in pattern.pieces)
    runs = sum(entry.quantity for one in pooled.week.alone for entry in one.filled.not_cut if _is_run(one, entry.item))
    return wanted - cut + runs


def _is_run(one: AloneJob, item: int) -> bool:
    return item in one.demand.runs


def _by_length(pooled: Pooled, problem: DatedProblem) -> int:
    """Return the cost of the length that is wanted at the best price of length, less what costs nothing."""
    wanted = sum(_wanted(one) for one in pooled.week.alone)
    free = sum(s.length * (s.limit or 0) for s in problem.supplies if not s.cost)
    rates = [Fraction(supply.cost, supply.length) for supply in problem.supplies if supply.cost and supply.limit != 0]
    return max(0, -int(-(wanted - free) * min(rates) // 1)) if rates else 0


def _wanted(one: AloneJob) -> int:
    """Return the least length that a job's pieces and runs take up, in ticks: a lap may be left out, a gap not."""
    pieces = sum(k.takes * len(c) for k, c in zip(one.demand.kinds, one.demand.claims, strict=True))
    material = one.demand.material
    asked = of_pieces(material)
    lapless = replace(asked, lap=0)
    shortest = min(row.length for row in material.stock if row.available != 0)
    runs = 0
    for required in (one.demand.job.required[item] for item in one.demand.runs):
        gaps = 2 + required.length // shortest + material.settings.extra_laps
        runs += required.pieces * (lapless.cut_length(required) + min(0, asked.lap) * (gaps + 2))
    return pieces + runs
