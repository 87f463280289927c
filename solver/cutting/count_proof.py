"""Which certificates prove together what the search over numbers of sticks found: few of them, for the checker's sake.

The first are those that the cheapest numbers in fractions rest on. Then the numbers below the bound that the
certificates chosen so far allow are listed, cheapest first, and for each the one certificate is added that rules it
out by most, until none is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from solver.cutting.certificate import Certificate
from solver.cutting.counting import Counting
from solver.cutting.number_grid import Numbers
from solver.cutting.standing import Standing

MOST_SETS = 40
"""Certificates that a proof may carry; each is a line of numbers as long as the list of pieces."""


def sufficient(cuts: Sequence[Certificate], standing: Standing) -> tuple[Certificate, ...]:
    """Return those of the cuts that rule out all numbers below the bound; none where that takes too many."""
    chosen = [cut for cut in _counting(cuts, standing).weightiest() if cut.worth > 0]
    counting = _counting(chosen, standing)
    while len(chosen) < MOST_SETS:
        reached, numbers = counting.cheapest(standing.bound, standing.watch)
        if numbers is None:
            return tuple(chosen) if reached >= standing.bound else ()
        cut = max(cuts, key=lambda cut: _lacking(cut, numbers))
        if _lacking(cut, numbers) <= 0:
            return ()
        chosen.append(cut)
        counting.add(cut)
    return ()


def _counting(cuts: Iterable[Certificate], standing: Standing) -> Counting:
    """Return all numbers of sticks that cost less than the bound, under cuts."""
    problem = standing.reduced.problem
    pieces = sum(piece.demand for piece in problem.pieces)
    costs = [stick.cost for stick in problem.sticks]
    limits = (pieces if stick.limit is None else min(stick.limit, pieces) for stick in problem.sticks)
    affordable = (pieces if not cost else (standing.bound - 1) // cost for cost in costs)
    counting = Counting(costs, tuple(min(pair) for pair in zip(limits, affordable, strict=True)), choose=False)
    for cut in cuts:
        counting.add(cut)
    return counting


def _lacking(cut: Certificate, numbers: Numbers) -> float:
    """Return how much of the worth of all pieces these sticks lack, as a share of it."""
    worth = sum(c * n for c, n in zip(cut.ceilings, numbers, strict=True))
    return (cut.worth - worth) / cut.worth if cut.worth > 0 else 0.0
