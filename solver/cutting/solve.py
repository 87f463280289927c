"""The whole way from a cutting problem to a proven plan, one method after the other until cost and bound meet."""

from __future__ import annotations

from solver.cutting.bounds import instant
from solver.cutting.branching import CountSearch, Effort
from solver.cutting.certificate import Certificate, Counts
from solver.cutting.dense import DensePricer
from solver.cutting.diving import Diver, Residue
from solver.cutting.generation import Goal, Relaxation
from solver.cutting.greedy import fullest, greedy, scan
from solver.cutting.presolve import Reduced, reduce
from solver.cutting.pricing import Pricer
from solver.cutting.problem import Cutting, CuttingProblem, Duals, Search
from solver.cutting.reachable import Costs
from solver.cutting.restore import restored
from solver.cutting.standing import Standing
from solver.cutting.wide import WidePricer
from solver.watch import Watch

ANSWER, ANSWER_PIECE = 0.001, 2e-5
"""Seconds, and seconds for each piece, that it takes to write down the answer."""

ROOT_SHARE = 0.7
"""The part of the time that the first linear program may take: without a whole plan it is worth little."""

WIDE = 20_000
"""Sticks of more units than this are priced on a coarse grid first."""


PARTS = 10_000
"""Parts that closing by flow may search: hours, so in practice the watch ends it."""


def solve(problem: CuttingProblem, watch: Watch) -> Cutting:
    """Return the best plan found when it is proven best, or when ``watch`` says stop."""
    reduced = reduce(problem)
    early = watch.within(watch.left - ANSWER - ANSWER_PIECE * len(reduced.problem.pieces))
    standing = Standing(reduced, greedy(reduced, scan, early), early)
    if reduced.problem.pieces:
        standing.prove(instant(reduced))
        _improve(reduced, standing)
    return _answer(problem, reduced, standing)


def _improve(reduced: Reduced, standing: Standing) -> None:
    if not standing.done:
        standing.offer(greedy(reduced, fullest, standing.watch))
    if standing.done:
        return
    relaxation = Relaxation(reduced, _pricer(reduced), 10 * standing.cost + 1)
    relaxation.master.add(standing.uses)
    demands = [piece.demand for piece in reduced.problem.pieces]
    root = Goal(demands, Counts.of(reduced.problem.sticks), standing.lift, standing.cost)
    relaxed = relaxation.solve(root, standing.watch.within(ROOT_SHARE * standing.watch.left))
    standing.prove(relaxed.certificate)
    for second_choices in range(2):
        Diver(relaxation, standing, standing.bound, 1000).dive(Residue({}, root), second_choices)
    if not standing.done:
        CountSearch(relaxation, standing).run(Effort(40, 40, 1))
    for second_choices in range(2, 6):
        Diver(relaxation, standing, standing.bound, 1000).dive(Residue({}, root), second_choices)


def _pricer(reduced: Reduced) -> Pricer:
    widest = max(stick.length for stick in reduced.problem.sticks)
    return (WidePricer if widest > WIDE else DensePricer)(reduced.problem, reduced.priced)


def _answer(problem: CuttingProblem, reduced: Reduced, standing: Standing) -> Cutting:
    uses, uncut = restored(problem, reduced, standing.uses)
    cost = sum(times * problem.sticks[pattern.stick].cost for pattern, times in uses)
    length = sum(problem.pieces[i].length * uncut[i] for kind in reduced.kinds for i in kind)
    floor = reduced.penalty * (length // reduced.uncut_step)
    shown = standing.bound >= floor
    bound = (standing.bound - floor) * reduced.cost_step if shown else 0
    return Cutting(uses, tuple(uncut), cost, bound, _proof(problem, reduced, standing, length), shown)


def _proof(problem: CuttingProblem, reduced: Reduced, standing: Standing, length_uncut: int) -> Duals | Search:
    """Return the certificate in the problem's own terms, where it alone is enough for the bound."""
    if standing.searched:
        return Search(standing.searched)
    certificate = standing.certificate or Certificate(1, (0,) * len(reduced.kinds), (), 0, 0)
    costs = Costs.of(((stick.cost, stick.limit) for stick in problem.sticks), standing.cost * reduced.cost_step)
    if length_uncut:
        return Search("the linear program over all patterns, where length left uncut costs more than all sticks")
    if costs.lift(-(-certificate.net * reduced.cost_step // certificate.scale)) < standing.bound * reduced.cost_step:
        return Search("the linear program over all patterns, and no sum of costs of sticks that no other outdoes")
    values = [0] * len(problem.pieces)
    for kind, value in zip(reduced.kinds, certificate.values, strict=True):
        for i in kind:
            values[i] = value * reduced.cost_step
    return Duals(certificate.scale, tuple(values))
