"""The answer in the terms of the problem asked: plan, cost, bound, and the proof that anyone can check."""

from __future__ import annotations

from solver.cutting.certificate import Certificate
from solver.cutting.count_proof import sufficient
from solver.cutting.problem import Cutting, CuttingProblem, Duals, Search
from solver.cutting.restore import restored
from solver.cutting.standing import Standing

PENALISED = "the linear program over all patterns, where length left uncut costs more than all sticks together"


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
    if length_uncut and (standing.searched or standing.certificate):
        return Search(standing.searched or PENALISED)
    if standing.searched:
        sets = sufficient(standing.cuts, standing) if standing.cuts else ()
        if not sets:
            return Search(standing.searched)
        first, *further = (_original(problem, standing, cut) for cut in sets)
        return Duals(sets[0].scale, first, tuple(further))
    if standing.certificate is None:
        return Duals(1, (0,) * len(problem.pieces))
    return Duals(standing.certificate.scale, _original(problem, standing, standing.certificate))


def _original(problem: CuttingProblem, standing: Standing, certificate: Certificate) -> tuple[int, ...]:
    """Return the values of the problem's own pieces, in its own units of cost."""
    values = [0] * len(problem.pieces)
    for kind, value in zip(standing.reduced.kinds, certificate.values, strict=True):
        for i in kind:
            values[i] = value * standing.reduced.cost_step
    return tuple(values)
