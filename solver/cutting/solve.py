"""The whole way from a cutting problem to a proven plan, one method after the other until cost and bound meet.

The answer is in the terms of the problem asked: plan, cost, bound, and the proof that anyone can check.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from solver.cutting.arcflow import Closing
from solver.cutting.bounds import Certificate, Counts, instant
from solver.cutting.columns import Goal, Relaxation
from solver.cutting.count_search import CountSearch, Effort
from solver.cutting.diving import Diver
from solver.cutting.greedy import fullest, greedy, scan
from solver.cutting.incumbent import Incumbent
from solver.cutting.presolve import Reduced, reduce, restored
from solver.cutting.pricing.labels import ScaledPricer
from solver.cutting.pricing.protocol import Pricer
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import Cutting, CuttingProblem, Duals, Search
from solver.cutting.stick_counts import sufficient
from solver.watch import Watch

PENALISED = "the linear program over all patterns, where length left uncut costs more than all sticks together"
ROOT_SHARE = 0.7
"""The part of the time that the first linear program may take: without a whole plan it is worth little."""
WIDE = 20_000
"""Sticks of more units than this are priced on a coarse grid first."""
PROGRAMS = 1000
"""Linear programs that the first dives may take each."""
HARDEST = 30
"""Second choices up to which dives are repeated, time allowing, where nothing else has closed the gap."""
PARTS, SHARE = 10_000, 20
"""Parts that closing by flow may search at once: hours, so in practice the watch ends it; few with one kind of stick,
where dives take turns with it."""
ANSWER, ANSWER_PIECE = 0.001, 2e-5
"""Seconds, and seconds for each piece, that it takes to write down the answer."""
NUMBERS, NUMBER_PROGRAMS = 40, 40
"""Numbers of sticks that are tried at first, and linear programs for each dive with them."""


def answer(problem: CuttingProblem, incumbent: Incumbent) -> Cutting:
    """Return how things stand as the answer to ``problem``."""
    reduced = incumbent.reduced
    uses, uncut = restored(problem, reduced, incumbent.uses)
    cost = problem.total(uses)
    length = sum(problem.pieces[i].length * uncut[i] for kind in reduced.kinds for i in kind)
    penalties = reduced.penalty * (length // reduced.uncut_step)
    shown = incumbent.bound >= penalties
    bound = (incumbent.bound - penalties) * reduced.cost_step if shown else 0
    return Cutting(
        uses=uses,
        uncut=tuple(uncut),
        cost=cost,
        bound=bound,
        proof=_proof(problem, incumbent, length),
        least_uncut=shown,
        exhausted=incumbent.exhausted,
    )


def _proof(problem: CuttingProblem, incumbent: Incumbent, length_uncut: int) -> Duals | Search:
    """Return the certificate in the problem's own terms where it alone is enough for the bound, else what was done."""
    if length_uncut and (incumbent.searched or incumbent.certificate):
        return Search(incumbent.searched or PENALISED)
    if incumbent.searched:
        sets = sufficient(incumbent.cuts, incumbent) if incumbent.cuts else ()
        if not sets:
            return Search(incumbent.searched)
        first, *further = (_original(problem, incumbent, cut) for cut in sets)
        return Duals(sets[0].scale, first, tuple(further))
    if incumbent.certificate is None:
        return Duals(1, (0,) * len(problem.pieces))
    return Duals(incumbent.certificate.scale, _original(problem, incumbent, incumbent.certificate))


def _original(problem: CuttingProblem, incumbent: Incumbent, certificate: Certificate) -> tuple[int, ...]:
    """Return the values of the problem's own pieces, in its own units of cost."""
    values = [0] * len(problem.pieces)
    for kind, value in zip(incumbent.reduced.kinds, certificate.values, strict=True):
        for i in kind:
            values[i] = value * incumbent.reduced.cost_step
    return tuple(values)


def solve(problem: CuttingProblem, watch: Watch, methods: int | None = None) -> Cutting:
    """Return the best plan found when it is proven best, when ``watch`` says stop, or after so many ``methods``."""
    reduced = reduce(problem)
    early = watch.within(watch.left - ANSWER - ANSWER_PIECE * len(reduced.problem.pieces))
    incumbent = Incumbent(reduced, greedy(reduced, scan, early), early)
    for _ in islice(_methods(reduced, incumbent), methods):
        if incumbent.done:
            break
    return answer(problem, incumbent)


def _methods(reduced: Reduced, incumbent: Incumbent) -> Iterator[None]:
    """Apply one method after the other, cheapest first; whoever asks stops asking once cost and bound meet."""
    incumbent.prove(instant(reduced))
    yield
    incumbent.offer(greedy(reduced, fullest, incumbent.watch))
    yield
    pricer = pricer_of(reduced)
    relaxation = Relaxation(reduced, pricer, 10 * incumbent.cost + 1)
    relaxation.master.add(incumbent.uses)
    demands = [piece.demand for piece in reduced.problem.pieces]
    root = Goal(demands, Counts.of(reduced.problem.sticks), incumbent.lift, incumbent.cost, hoped=incumbent.bound)
    relaxed = relaxation.solve(root, incumbent.watch.within(ROOT_SHARE * incumbent.watch.left))
    incumbent.prove(relaxed.certificate)
    yield
    for second_choices in range(2):
        Diver(relaxation, incumbent, incumbent.bound, PROGRAMS).dive(root, second_choices, relaxed.uses)
        yield
    search = CountSearch(relaxation, incumbent)
    search.run(NUMBERS, Effort(NUMBER_PROGRAMS, second_choices=1))
    yield
    closing = Closing(incumbent, pricer, relaxation.master.patterns)
    share = SHARE if len(reduced.problem.sticks) == 1 else PARTS
    closing.on(share)
    yield
    for harder in range(2, HARDEST):
        incumbent.prove(relaxation.solve(root, incumbent.watch).certificate)
        Diver(relaxation, incumbent, incumbent.bound, harder * PROGRAMS).dive(root, harder)
        search.again(Effort(harder * NUMBER_PROGRAMS, harder))
        closing.on(share)
        yield
    closing.on(PARTS)
    incumbent.exhausted = not relaxation.hurried


def pricer_of(reduced: Reduced) -> Pricer:
    """Return the pricer for sticks so wide."""
    widest = max(stick.length for stick in reduced.problem.sticks)
    return (ScaledPricer if widest > WIDE else TablePricer)(reduced.problem, reduced.priced)
