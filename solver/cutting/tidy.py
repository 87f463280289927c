"""Equal cost is not equal: the tidiest cutting among those that cost no more.

In this order: least scrap, fewest kept offcuts, fewest different patterns, fewest
cuts. First a pool of patterns is gathered (``gather``), every proper one if there are not too many,
else those that a tidier plan can contain; then each goal is pursued over the pool (``tidiest``), from
the plan in hand, so that the answer is never worse than what came in. A plan that might cut more is left as it is:
made tidier, it could leave a stick idle that a piece left uncut would fit.
"""

from __future__ import annotations

from dataclasses import replace

from solver.cutting.problem import Cutting, CuttingProblem
from solver.cutting.tidying.gather import gather
from solver.cutting.tidying.pool import GOALS, OutOfTime, Uses
from solver.cutting.tidying.tidiest import Alike, Tidiest, by_parts, tidiest
from solver.watch import Watch

MOST_KINDS = 400
"""With more kinds of pieces a plan is tidied part by part."""


def tidy(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Cutting:
    """Return the tidiest cutting found that costs no more and leaves the same pieces uncut."""
    uses = tidied(problem, cutting, watch).uses
    cost = problem.total(uses)
    return replace(cutting, uses=uses, cost=cost)


def tidied(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Tidiest:
    """Do as ``tidy`` does, and say which goals are proven."""
    more = any(cutting.uncut) and not cutting.least_uncut
    if not cutting.uses or more or watch.stopped:
        return Tidiest(cutting.uses, dict.fromkeys(GOALS, False))
    cut = (replace(p, demand=p.demand - left) for p, left in zip(problem.pieces, cutting.uncut, strict=True))
    alike = Alike.of(replace(problem, pieces=tuple(cut)))
    uses = alike.joined(cutting.uses)
    if sum(piece.demand > 0 for piece in alike.problem.pieces) > MOST_KINDS:
        parts = by_parts(alike.problem, uses, lambda part, plan, given: _tidied(part, plan, given).uses, watch)
        best = Tidiest(parts, dict.fromkeys(GOALS, False))
    else:
        best = _tidied(alike.problem, uses, watch)
    return replace(best, uses=alike.dealt(best.uses))


def _tidied(problem: CuttingProblem, uses: Uses, watch: Watch) -> Tidiest:
    """Tidy a plan that cuts all of ``problem``."""
    try:
        gathered = gather(problem, uses, watch)
    except OutOfTime:
        return Tidiest(uses, dict.fromkeys(GOALS, False))
    best = tidiest(gathered.pool, gathered.uses, watch)
    return best if gathered.complete else replace(best, least=dict.fromkeys(GOALS, False))
