"""The pool to tidy over: every proper pattern if there are not too many, else those that can save scrap.

Where there are too many, columns are generated for least scrap (Gilmore and Gomory 1961, with scrap for
cost and the cost as a cap), a first integer program over them gives a better plan, and then every
pattern is listed whose reduced cost is within the gap: no plan of less scrap, nor any other of as
little, has one that is not on the list.
"""

from __future__ import annotations

from dataclasses import dataclass

from solver.cutting.problem import CuttingProblem, Pattern
from solver.cutting.tidying.arrange import arrange
from solver.cutting.tidying.patience import go_on
from solver.cutting.tidying.pool import Aim, Pool
from solver.cutting.tidying.proper import TooMany, proper_patterns
from solver.cutting.tidying.relax import Relaxation, RowDuals
from solver.cutting.tidying.scrap import ScrapPricer
from solver.cutting.tidying.tidiness import Uses
from solver.watch import Watch

STEPS = 20_000
"""Search steps in which patterns must be listed."""

WORK = 2_000
"""Nodes times columns in the first integer program."""

STATES = 4_000_000
"""States that exact pricing may look at on wide sticks; about a second. Where little is scrap it is less:"""

RICH = 20
"""all of them where one part in so many of what is cut is scrap or more, none where nothing is."""

PRICED = 6_000
"""Rounds of column generation times kinds of pieces."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """A pool, a plan over it no less tidy than the one begun from, and whether nothing tidier lies outside."""

    pool: Pool
    uses: Uses
    complete: bool


def gather(problem: CuttingProblem, uses: Uses, watch: Watch) -> Gathered:
    """Gather the pool for plans that cost no more than ``uses``, which cuts all of ``problem``.

    Raises ``OutOfTime``.
    """
    try:
        return Gathered(Pool.of(problem, proper_patterns(problem, STEPS, watch), watch), uses, complete=True)
    except TooMany:
        return _generated(problem, uses, watch)


def _generated(problem: CuttingProblem, uses: Uses, watch: Watch) -> Gathered:
    pool = Pool.of(problem, [pattern for pattern, _ in uses], watch)
    pricer = ScrapPricer(problem, int(STATES * min(1.0, RICH * _scrap_share(problem, pool, uses))))
    aim = Aim("scrap", {"cost": pool.total("cost", pool.counts(uses))})
    columns = _columns(problem, pool, pricer, aim, watch)
    better = arrange(columns.pool, aim, columns.pool.counts(uses), WORK, watch).counts
    useful = None
    if columns.duals is not None:
        gap = columns.pool.total("scrap", better) - columns.duals.bound
        useful = _useful(pricer, columns.duals, gap, watch)
    patterns = [*(column.pattern for column in columns.pool.columns), *(useful or ())]
    return Gathered(Pool.of(problem, patterns, watch), columns.pool.uses(better), useful is not None)


def _scrap_share(problem: CuttingProblem, pool: Pool, uses: Uses) -> float:
    """Return what can be gained at the most: the share of the sticks cut that is scrap."""
    cut = sum(problem.sticks[pattern.stick].length * count for pattern, count in uses)
    return pool.total("scrap", pool.counts(uses)) / cut


@dataclass(frozen=True, slots=True)
class _Columns:
    """Columns generated, and the duals at the end; None where more columns might be found."""

    pool: Pool
    duals: RowDuals | None


def _columns(problem: CuttingProblem, pool: Pool, pricer: ScrapPricer, aim: Aim, watch: Watch) -> _Columns:
    """Generate columns for the aim, which is least scrap."""
    program, fresh = Relaxation(pool, aim), pool
    known: set[Pattern] = set()
    duals = None
    for _ in range(max(3, PRICED // len(pool.demand))):
        known.update(column.pattern for column in fresh.columns)
        program.add(*program.matrix(fresh))
        if (duals := program.duals()) is None:
            break
        priced = pricer.price(pricer.worth(duals), watch)
        found = set(priced.patterns) - known
        if not found:
            duals = duals if priced.sure else None
            break
        fresh = Pool.of(problem, found, watch)
    else:
        duals = None
    go_on(watch)
    return _Columns(Pool.of(problem, known, watch), duals)


def _useful(pricer: ScrapPricer, duals: RowDuals, gap: float, watch: Watch) -> list[Pattern] | None:
    """List the patterns within the gap; None where they are too many."""
    try:
        return pricer.within(pricer.worth(duals), gap, STEPS, watch)
    except TooMany:
        return None
