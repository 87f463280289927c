"""Equal cost is not equal: the tidiest cutting among those that cost no more.

In the order of design section 5: least scrap, fewest kept offcuts, fewest different patterns, fewest
cuts. First a pool of patterns is gathered (``gather``), every proper one if there are not too many,
else those that a tidier plan can contain; then each goal is pursued over the pool (``tidiest``), from
the plan in hand, so that the answer is never worse than what came in.
"""

from __future__ import annotations

from dataclasses import replace

from solver.cutting.tidying.pool import Pool
from solver.cutting.problem import Cutting, CuttingProblem
from solver.cutting.tidying.proper import TooMany, proper_patterns
from solver.cutting.tidying.tidiest import Tidiest, tidiest
from solver.watch import Watch

STEPS = 20_000
"""Search steps in which every proper pattern must be found, else only the useful ones are looked for."""


def tidy(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Cutting:
    """Return the tidiest cutting found that costs no more and leaves the same pieces uncut."""
    uses = tidied(problem, cutting, watch).uses
    cost = sum(problem.sticks[pattern.stick].cost * count for pattern, count in uses)
    return replace(cutting, uses=uses, cost=cost)


def tidied(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Tidiest:
    """Do as ``tidy`` does, and say which goals are proven."""
    demand = [piece.demand - left for piece, left in zip(problem.pieces, cutting.uncut, strict=True)]
    try:
        patterns = proper_patterns(problem, demand, STEPS)
    except TooMany:
        patterns = [pattern for pattern, _ in cutting.uses]
    return tidiest(Pool.of(problem, demand, patterns), cutting.uses, cutting.cost, watch)
