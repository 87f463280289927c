"""The pool to tidy over: every proper pattern if there are not too many, else those that can save scrap.

Where there are too many, columns are generated for least scrap (Gilmore and Gomory 1961, with scrap for
cost and the cost as a cap), a first integer program over them gives a better plan, and then every
pattern is listed whose reduced cost is within the gap: no plan of less scrap, nor any other of as
little, has one that is not on the list.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.cutting.problem import CuttingProblem, Pattern
from solver.cutting.tidying.arrange import arrange
from solver.cutting.tidying.pool import Aim, Pool
from solver.cutting.tidying.proper import TooMany, proper_patterns
from solver.cutting.tidying.relax import Duals, LinearProgram
from solver.cutting.tidying.scrap import ScrapPricer
from solver.cutting.tidying.tidiness import Uses
from solver.watch import Watch

STEPS = 20_000
"""Search steps in which patterns must be listed."""

WORK = 8_000
"""Nodes times columns in the first integer program."""

ROUNDS = 40
"""Rounds of column generation."""

MOST_KINDS = 200
"""With more kinds of pieces nothing is generated."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """A pool, a plan over it no less tidy than the one begun from, and whether nothing tidier lies outside."""

    pool: Pool
    uses: Uses
    complete: bool


def gather(problem: CuttingProblem, demand: Sequence[int], uses: Uses, cost: int, watch: Watch) -> Gathered:
    """Gather the pool for plans that cost at most ``cost`` and cut ``demand``, as ``uses`` does."""
    try:
        return Gathered(Pool.of(problem, demand, proper_patterns(problem, demand, STEPS)), uses, complete=True)
    except TooMany:
        return _generated(problem, demand, uses, cost, watch)


def _generated(problem: CuttingProblem, demand: Sequence[int], uses: Uses, cost: int, watch: Watch) -> Gathered:
    aim, pricer = Aim("scrap", {"cost": cost}), ScrapPricer(problem, demand)
    pool, duals = _columns(problem, Pool.of(problem, demand, [p for p, _ in uses]), pricer, aim, watch)
    better = arrange(pool, aim, pool.counts(uses), WORK, watch).counts
    gap = pool.total("scrap", better) - duals.bound
    useful, complete = _useful(pricer, duals, gap)
    patterns = [*(column.pattern for column in pool.columns), *useful]
    return Gathered(Pool.of(problem, demand, patterns), pool.uses(better), complete)


def _columns(problem: CuttingProblem, pool: Pool, pricer: ScrapPricer, aim: Aim, watch: Watch) -> tuple[Pool, Duals]:
    """Generate columns for the aim, which is least scrap."""
    program = LinearProgram(pool, aim)
    known: set[Pattern] = set()
    fresh = pool
    for _ in range(ROUNDS):
        known.update(column.pattern for column in fresh.columns)
        program.add(*program.matrix(fresh))
        duals = program.duals()
        found = set(pricer.price(pricer.worth(duals), watch)) - known
        if not found or watch.stopped:
            break
        fresh = Pool.of(problem, pool.demand, found)
    return Pool.of(problem, pool.demand, known), duals


def _useful(pricer: ScrapPricer, duals: Duals, gap: float) -> tuple[list[Pattern], bool]:
    """List the patterns within the gap, or within as large a part of it as can be listed, and say if that is all."""
    worth = pricer.worth(duals)
    for part in (1.0, 0.25, 0.05, 0.0):
        try:
            return pricer.within(worth, gap * part, STEPS), part == 1.0
        except TooMany:
            continue
    return [], False
