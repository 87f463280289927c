"""Destructive lower bounds by the search over parts, for costs and for given numbers of sticks.

``close`` closes the distance between the best plan and the bound, one reachable cost at a time from below:
each step asks whether a plan of that cost exists. The lower the cost asked for, the smaller the gap of the
duals and the fewer patterns are left, so the questions are easiest in this order (destructive bounding:
Klein and Scholl 1999).

``settle`` finds whether there is a plan with given numbers of sticks, every stick being limited to its number. What
the numbers cost is then all that may be spent, so a plan must use them to the last, the gap of the duals is next to
nothing, and few patterns are left.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from solver.cutting.arcflow.graph import Space
from solver.cutting.arcflow.program import Answer, Outcome
from solver.cutting.arcflow.search import Search
from solver.cutting.columns import Relaxation
from solver.cutting.count_bounds import Numbers
from solver.cutting.incumbent import Incumbent
from solver.cutting.pricing.protocol import Pricer
from solver.cutting.problem import Pattern

TAKEN = 5
"""Patterns taken to start with, for every piece: more of them slow the linear program down."""

TEXT = (
    "all plans of lower cost, branch by branch: integer duals of patterns and odd cuts leave out patterns, and what is "
    "left is searched by an integer program with whole costs, no gap and half a step of room"
)
"""What a bound from here rests on."""


def close(incumbent: Incumbent, pricer: Pricer, known: Iterable[Pattern], parts: int) -> None:
    """Raise the bound or lower the cost until they meet, ``parts`` parts are searched, or the watch stops.

    ``known``: patterns to start from, of which the best are taken.
    """
    search = Search(Space.of(incumbent.reduced), pricer, best_known(incumbent, known), incumbent.watch)
    while not incumbent.done and search.parts < parts:
        outcome = search.run(incumbent.bound, parts - search.parts)
        if outcome.answer is Answer.OPEN:
            return
        if outcome.answer is Answer.FOUND:
            incumbent.offer(outcome.uses)
        else:
            incumbent.searched_to(incumbent.bound + 1, TEXT)


def best_known(incumbent: Incumbent, known: Iterable[Pattern]) -> list[Pattern]:
    """Return the proper patterns among those known that cost least beyond what their pieces are worth."""
    problem, certificate = incumbent.reduced.problem, incumbent.certificate
    worth = (1, [0] * len(problem.pieces)) if certificate is None else (certificate.scale, certificate.values)
    demands = [piece.demand for piece in problem.pieces]
    proper = (p for p in known if all(p.pieces.count(i) <= demands[i] for i in set(p.pieces)))
    costs = ((worth[0] * problem.cost(p) - sum(worth[1][i] for i in p.pieces), p) for p in proper)
    return [p for _, p in sorted(costs)[: TAKEN * len(demands)]]


def settle(incumbent: Incumbent, relaxation: Relaxation, numbers: Numbers, parts: int) -> Outcome:
    """Look for a plan with at most so many sticks of each kind, in at most so many parts of the search."""
    reduced = incumbent.reduced
    limited = (replace(stick, limit=n) for stick, n in zip(reduced.problem.sticks, numbers, strict=True))
    space = Space.of(replace(reduced, problem=replace(reduced.problem, sticks=tuple(limited))))
    search = Search(space, relaxation.pricer, best_known(incumbent, relaxation.master.patterns), incumbent.watch)
    return search.run(sum(cost * n for cost, n in zip(space.costs, numbers, strict=True)), parts)
