"""The whole way from a cutting problem to a proven plan, one method after the other until cost and bound meet."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from solver.cutting.answer import answer
from solver.cutting.bounds import instant
from solver.cutting.branching import CountSearch, Effort
from solver.cutting.certificate import Counts
from solver.cutting.dense import DensePricer
from solver.cutting.diving import Diver
from solver.cutting.flow.closing import close
from solver.cutting.generation import Goal, Relaxation
from solver.cutting.greedy import fullest, greedy, scan
from solver.cutting.presolve import Reduced, reduce
from solver.cutting.pricing import Pricer
from solver.cutting.problem import Cutting, CuttingProblem
from solver.cutting.standing import Standing
from solver.cutting.wide import WidePricer
from solver.watch import Watch

ANSWER, ANSWER_PIECE = 0.001, 2e-5
"""Seconds, and seconds for each piece, that it takes to write down the answer."""

ROOT_SHARE = 0.7
"""The part of the time that the first linear program may take: without a whole plan it is worth little."""

WIDE = 20_000
"""Sticks of more units than this are priced on a coarse grid first."""

PROGRAMS = 1000
"""Linear programs that the first dives may take each."""

NUMBERS, NUMBER_PROGRAMS = 40, 40
"""Numbers of sticks that are tried at first, and linear programs for each dive with them."""

HARDEST = 30
"""Second choices up to which dives are repeated, time allowing, where nothing else has closed the gap."""

PARTS = 10_000
"""Parts that closing by flow may search: hours, so in practice the watch ends it."""


def solve(problem: CuttingProblem, watch: Watch, methods: int | None = None) -> Cutting:
    """Return the best plan found when it is proven best, when ``watch`` says stop, or after so many ``methods``."""
    reduced = reduce(problem)
    early = watch.within(watch.left - ANSWER - ANSWER_PIECE * len(reduced.problem.pieces))
    standing = Standing(reduced, greedy(reduced, scan, early), early)
    for _ in islice(_methods(reduced, standing), methods):
        if standing.done:
            break
    return answer(problem, standing)


def _methods(reduced: Reduced, standing: Standing) -> Iterator[None]:
    """Apply one method after the other, cheapest first; whoever asks stops asking once cost and bound meet."""
    standing.prove(instant(reduced))
    yield
    standing.offer(greedy(reduced, fullest, standing.watch))
    yield
    pricer = _pricer(reduced)
    relaxation = Relaxation(reduced, pricer, 10 * standing.cost + 1)
    relaxation.master.add(standing.uses)
    demands = [piece.demand for piece in reduced.problem.pieces]
    root = Goal(demands, Counts.of(reduced.problem.sticks), standing.lift, standing.cost, hoped=standing.bound)
    relaxed = relaxation.solve(root, standing.watch.within(ROOT_SHARE * standing.watch.left))
    standing.prove(relaxed.certificate)
    yield
    for second_choices in range(2):
        Diver(relaxation, standing, standing.bound, PROGRAMS).dive(root, second_choices, relaxed.uses)
        yield
    search = CountSearch(relaxation, standing)
    search.run(NUMBERS, Effort(NUMBER_PROGRAMS, second_choices=1))
    yield
    close(standing, pricer, relaxation.master.patterns, PARTS)
    yield
    for harder in range(2, HARDEST):
        standing.prove(relaxation.solve(root, standing.watch).certificate)
        Diver(relaxation, standing, standing.bound, harder * PROGRAMS).dive(root, harder)
        search.again(Effort(harder * NUMBER_PROGRAMS, harder))
        yield
    standing.exhausted = not relaxation.hurried


def _pricer(reduced: Reduced) -> Pricer:
    widest = max(stick.length for stick in reduced.problem.sticks)
    return (WidePricer if widest > WIDE else DensePricer)(reduced.problem, reduced.priced)
