"""Equal cost is not equal: the tidiest cutting among those that cost no more.

In the order of design section 5: least scrap, fewest kept offcuts, fewest different patterns, fewest
cuts. First a pool of patterns is gathered (``gather``), every proper one if there are not too many,
else those that a tidier plan can contain; then each goal is pursued over the pool (``tidiest``), from
the plan in hand, so that the answer is never worse than what came in.
"""

from __future__ import annotations

from dataclasses import replace

from solver.cutting.problem import Cutting, CuttingProblem
from solver.cutting.tidying.alike import Alike
from solver.cutting.tidying.gather import gather
from solver.cutting.tidying.tidiest import Tidiest, tidiest
from solver.cutting.tidying.tidiness import GOALS
from solver.watch import Watch


def tidy(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Cutting:
    """Return the tidiest cutting found that costs no more and leaves the same pieces uncut."""
    uses = tidied(problem, cutting, watch).uses
    cost = sum(problem.sticks[pattern.stick].cost * count for pattern, count in uses)
    return replace(cutting, uses=uses, cost=cost)


def tidied(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Tidiest:
    """Do as ``tidy`` does, and say which goals are proven."""
    if not cutting.uses or watch.stopped:
        return Tidiest(cutting.uses, dict.fromkeys(GOALS, False))
    demand = [piece.demand - left for piece, left in zip(problem.pieces, cutting.uncut, strict=True)]
    alike = Alike.of(problem)
    gathered = gather(alike.problem, demand, alike.joined(cutting.uses), cutting.cost, watch)
    best = tidiest(gathered.pool, gathered.uses, cutting.cost, watch)
    least = best.least if gathered.complete else dict.fromkeys(GOALS, False)
    return Tidiest(alike.dealt(best.uses), least)
