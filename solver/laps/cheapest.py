"""The least cost that whole sticks can make: a bound between two such costs is lifted to the upper one."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, gcd

import numpy as np

from solver.cutting.reachable import halves
from solver.laps.problem import LapProblem
from solver.laps.site import Site

MOST_STEPS = 4_000_000
"""With more steps of cost than this they are not listed, and a bound is rounded up to the common divisor."""


def least_length(site: Site) -> int:
    """Return what all pieces and the cuts between them take up at the least, each with a kerf, in ticks."""
    problem = site.problem
    pieces = sum((piece.length + problem.kerf) * piece.demand for piece in problem.pieces)
    runs = 0
    for layouts, free in zip(site.layouts, site.sums, strict=True):
        shapes = [layout.shape for layout in layouts]
        sums = [each.length + problem.kerf * each.parts for each in free] or [
            shape.rest + sum(problem.sticks[k].length for k in shape.wholes) + problem.kerf * shape.parts
            for shape in shapes
        ]
        runs += min(sums, default=0)
    return pieces + runs


class Lattice:
    """The costs that sticks of enough length together can make, up to ``most``."""

    def __init__(self, problem: LapProblem, length: int, most: int) -> None:
        """``length`` is what pieces with their kerfs take up together."""
        self._length = length
        paid = [s for s in problem.sticks if s.cost > 0 and s.limit != 0]
        self._step = gcd(*(s.cost for s in paid)) or 1
        top = ceil(most / self._step)
        self._longest = self._table(problem, top) if top <= MOST_STEPS else None

    def _table(self, problem: LapProblem, top: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """Return the most length (with a kerf a stick) that sticks of exactly each cost have, negative if none."""
        longest = np.full(top + 1, -(2**60), np.int64)
        free = (s for s in problem.sticks if s.cost == 0)
        longest[0] = sum((s.length + problem.kerf) * (s.limit or 0) for s in free)
        for stick in problem.sticks:
            if stick.cost > 0 and stick.limit != 0:
                cost, length = stick.cost // self._step, stick.length + problem.kerf
                most = top // cost if stick.limit is None else min(stick.limit, top // cost)
                for times in halves(most):
                    tried = longest[: len(longest) - cost * times] + length * times
                    longest[cost * times :] = np.maximum(longest[cost * times :], tried)
        return longest

    def lift(self, bound: Fraction) -> int:
        """Return the least cost, no less than the bound, of sticks that are long enough together."""
        least = ceil(bound / self._step)
        if self._longest is None:
            return least * self._step
        enough = np.flatnonzero(self._longest[least:] >= self._length)
        return (least + int(enough[0])) * self._step if len(enough) else least * self._step
