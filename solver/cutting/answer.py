"""The answer in the terms of the problem asked: plan, cost, bound, and the proof that anyone can check."""

from __future__ import annotations

from solver.cutting.problem import Cutting, CuttingProblem, Duals, Search
from solver.cutting.reachable import Costs
from solver.cutting.restore import restored
from solver.cutting.standing import Standing

PENALISED = "the linear program over all patterns, where length left uncut costs more than all sticks together"
NOT_OUTDONE = "the linear program over all patterns, and what sticks can cost together that no other stick outdoes"


def answer(problem: CuttingProblem, standing: Standing) -> Cutting:
    """Return how things stand as the answer to ``problem``."""
    reduced = standing.reduced
    uses, uncut = restored(problem, reduced, standing.uses)
    cost = sum(times * problem.sticks[pattern.stick].cost for pattern, times in uses)
    length = sum(problem.pieces[i].length * uncut[i] for kind in reduced.kinds for i in kind)
    penalties = reduced.penalty * (length // reduced.uncut_step)
    shown = standing.bound >= penalties
    bound = (standing.bound - penalties) * reduced.cost_step if shown else 0
    return Cutting(uses, tuple(uncut), cost, bound, _proof(problem, standing, length), shown, standing.exhausted)


def _proof(problem: CuttingProblem, standing: Standing, length_uncut: int) -> Duals | Search:
    """Return the certificate in the problem's own terms where it alone is enough for the bound, else what was done."""
    if standing.searched:
        return Search(standing.searched)
    if standing.certificate is None:
        return Duals(1, (0,) * len(problem.pieces))
    if length_uncut:
        return Search(PENALISED)
    if not _enough(problem, standing):
        return Search(NOT_OUTDONE)
    step = standing.reduced.cost_step
    values = [0] * len(problem.pieces)
    for kind, value in zip(standing.reduced.kinds, standing.certificate.values, strict=True):
        for i in kind:
            values[i] = value * step
    return Duals(standing.certificate.scale, tuple(values))


def _enough(problem: CuttingProblem, standing: Standing) -> bool:
    """Whether the certificate, lifted to what the problem's own sticks can cost together, gives the bound."""
    step, certificate = standing.reduced.cost_step, standing.certificate
    if certificate is None:
        return False
    costs = Costs.of(((stick.cost, stick.limit) for stick in problem.sticks), standing.cost * step)
    return costs.lift(-(-certificate.net * step // certificate.scale)) >= standing.bound * step
