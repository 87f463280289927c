"""Whether there is a plan with given numbers of sticks: the flow search where every stick is limited to its number.

What the numbers cost is then all that may be spent, so a plan must use them to the last, the gap of the duals
is next to nothing, and few patterns are left.
"""

from __future__ import annotations

from dataclasses import replace

from solver.cutting.flow.closing import best_known
from solver.cutting.flow.node import Space
from solver.cutting.flow.program import Outcome
from solver.cutting.flow.search import Search
from solver.cutting.generation import Relaxation
from solver.cutting.number_grid import Numbers
from solver.cutting.standing import Standing


def settle(standing: Standing, relaxation: Relaxation, numbers: Numbers, parts: int) -> Outcome:
    """Look for a plan with at most so many sticks of each kind, in at most so many parts of the search."""
    reduced = standing.reduced
    limited = (replace(stick, limit=n) for stick, n in zip(reduced.problem.sticks, numbers, strict=True))
    space = Space.of(replace(reduced, problem=replace(reduced.problem, sticks=tuple(limited))))
    search = Search(space, relaxation.pricer, best_known(standing, relaxation.master.patterns), standing.watch)
    return search.run(sum(stick.cost * n for stick, n in zip(reduced.problem.sticks, numbers, strict=True)), parts)
