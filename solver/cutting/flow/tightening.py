"""Fewer patterns before the integer program: odd cuts raise the linear program, and what is then too dear goes.

The patterns of a part are written down already, so a cut is one more row over them, and its dual one more
thing that a pattern collects. Cuts and fixing by reduced cost (as over enumerated columns in Baldacci,
Christofides and Mingozzi 2008) take turns while that narrows the gap. What the duals prove is
worked out in whole numbers as in ``fairness``: a cut worth ``w_S`` adds ``w_S`` to each pattern that it
counts, and takes ``w_S`` off the gap, because a plan has at least one of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from solver.cutting.flow.enumerated import Enumerated, Point
from solver.cutting.flow.fairness import NEVER, Question, Worth, fair
from solver.cutting.flow.oddness import odd_sets
from solver.cutting.flow.program import Task
from solver.cutting.pricing import MOST_VALUE, IntVector
from solver.watch import Watch

CUTS = 30
"""Cuts added in a round."""

IDLE = 3
"""Rounds that may go by without narrowing the gap."""

NARROWER = 0.98
"""A gap of this part of the least so far counts as narrower."""

FINEST = 2**30
"""Duals are cut into no finer parts than this: a linear program in floats is not more exact."""


def tightened(task: Task, watch: Watch) -> Task | None:
    """Return the task with fewer patterns, but all that a plan within its target may hold; None if there is no plan."""
    program, least, idle = Enumerated(task.space, task.node.counts, task.patterns), float("inf"), 0
    while idle < IDLE and (point := program.solve(watch)) is not None:
        proven = _proven(task, program, point)
        if proven is None:
            break
        if proven.gap < 0:
            return None
        good = proven.reduced <= proven.gap
        program.keep(good)
        idle = 0 if proven.gap < NARROWER * least * proven.scale else idle + 1
        least = min(least, proven.gap / proven.scale)
        if not program.cut(odd_sets(program.held, point.amounts[good], task.space.demands, CUTS)):
            break
    return replace(task, patterns=program.patterns) if program.patterns else None


@dataclass(frozen=True, slots=True)
class _Proven:
    """The gap and every pattern's reduced cost, in parts of ``scale``."""

    scale: int
    gap: int
    reduced: IntVector


def _proven(task: Task, program: Enumerated, point: Point) -> _Proven | None:
    """Return what the duals prove of the patterns left; None where they prove nothing."""
    space, scale = task.space, _scale(task, point)
    values, cuts = (np.floor(duals * scale).astype(np.int64) for duals in (point.pieces, point.cuts))
    collected = values @ program.held + cuts @ program.odd
    best = [int(collected[program.sticks == k].max(initial=NEVER)) for k in range(len(space.costs))]
    worth = Worth(scale, values, tuple(int(charge * scale) for charge in point.charges), {})
    proven = fair(Question(space.demands, space.costs, task.node.counts, {}, task.target), worth, best)
    if proven.gap is None:
        return None
    reduced = np.array(proven.prices, np.int64)[program.sticks] - collected
    return _Proven(scale, proven.gap - int(cuts.sum()), reduced)


def _scale(task: Task, point: Point) -> int:
    """Return parts as fine as sums in 64 bits allow."""
    most_held = max((len(pattern.pieces) for pattern in task.patterns), default=0)
    most = max(1, *task.space.costs, float(np.abs(point.pieces).max()) * most_held, float(point.cuts.sum()))
    return max(1, min(FINEST, int(MOST_VALUE / (4 * most))))
