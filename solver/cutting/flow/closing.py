"""Close the distance between the best plan and the bound, one reachable cost at a time from below.

Each step asks whether a plan of that cost exists. The lower the cost asked for, the smaller the gap of the
duals and the fewer patterns are left, so the questions are easiest in this order (destructive bounding:
Klein and Scholl 1999).
"""

from __future__ import annotations

from collections.abc import Iterable

from solver.cutting.flow.node import Space
from solver.cutting.flow.program import Answer
from solver.cutting.flow.search import Search
from solver.cutting.pricing import Pricer
from solver.cutting.problem import Pattern
from solver.cutting.standing import Standing

TAKEN = 5
"""Patterns taken to start with, for every piece: more of them slow the linear program down."""

TEXT = (
    "all plans of lower cost, branch by branch: integer duals of patterns and odd cuts leave out patterns, and what is "
    "left is searched by an integer program with whole costs, no gap and half a step of room"
)
"""What a bound from here rests on."""


def close(standing: Standing, pricer: Pricer, known: Iterable[Pattern], parts: int) -> None:
    """Raise the bound or lower the cost until they meet, ``parts`` parts are searched, or the watch stops.

    ``known``: patterns to start from, of which the best are taken.
    """
    search = Search(Space.of(standing.reduced), pricer, best_known(standing, known), standing.watch)
    while not standing.done and search.parts < parts:
        outcome = search.run(standing.bound, parts - search.parts)
        if outcome.answer is Answer.OPEN:
            return
        if outcome.answer is Answer.FOUND:
            standing.offer(outcome.uses)
        else:
            standing.searched_to(standing.bound + 1, TEXT)


def best_known(standing: Standing, known: Iterable[Pattern]) -> list[Pattern]:
    """Return the proper patterns among those known that cost least beyond what their pieces are worth."""
    problem, certificate = standing.reduced.problem, standing.certificate
    worth = (1, [0] * len(problem.pieces)) if certificate is None else (certificate.scale, certificate.values)
    demands = [piece.demand for piece in problem.pieces]
    proper = (p for p in known if all(p.pieces.count(i) <= demands[i] for i in set(p.pieces)))
    costs = ((worth[0] * problem.sticks[p.stick].cost - sum(worth[1][i] for i in p.pieces), p) for p in proper)
    return [p for _, p in sorted(costs)[: TAKEN * len(demands)]]
