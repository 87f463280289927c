"""The arcs that matter for one target, grown without ever writing down the others.

Duals of the linear program over all patterns, which a pricer knows without a graph, say how little a path
may collect to be of use. So positions are reached piece by piece, as in any arc-flow graph, but a
position is kept only if what has been collected there, and the most that the rest of the stick can be worth
(on a coarse grid with lengths rounded down, see ``CompletionBound``), come to enough. That makes graphs of a few
thousand arcs where the width alone would ask for millions.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.arcflow.fixing import NEVER, Fair, Worth
from solver.cutting.arcflow.graph import Arcs, Bits, Lane, Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.pricing.labels import CompletionBound
from solver.cutting.pricing.protocol import IntVector

CELLS = 16_384
"""Cells of the grid over the longest stick; where it has no more units, ceilings are exact."""

MOST_ARCS = 4_000_000
"""Arcs that a graph may have."""


class TooLarge(Exception):
    """The graph has more than ``MOST_ARCS`` arcs."""


@dataclass(frozen=True, slots=True)
class _Reached:
    """Positions that rise, and the most collected at each: one entry each."""

    at: IntVector
    worth: IntVector

    def kept(self, bits: Bits) -> _Reached:
        """Return what is marked in ``bits``, one for each place."""
        return _Reached(self.at[bits], self.worth[bits])


def grown(space: Space, worth: Worth, fair: Fair) -> Node:
    """Return the part with all patterns that a plan within the target may have; raises ``TooLarge``."""
    problem = space.reduced.problem
    sticks = problem.sticks[: space.reduced.priced]
    cell = max(1, -(-max(stick.length for stick in sticks) // CELLS))
    ceiling = CompletionBound(problem, sticks, cell, worth.values, np.array(space.demands, np.int64))
    arcs = tuple(_Growth(lane, ceiling, fair).arcs() for lane in space.lanes)
    given = space.reduced.given
    values = worth.values
    worthy = tuple(p for p in given if int(values[p.pieces[0]]) - fair.prices[p.stick] >= fair.least)
    return Node(arcs, worthy, Counts.of(problem.sticks))


class _Growth:
    """The growth of one lane."""

    def __init__(self, lane: Lane, ceiling: CompletionBound, fair: Fair) -> None:
        self.lane, self.ceiling, self.least = lane, ceiling, fair.least
        self.prices = [fair.prices[k] for k in lane.sticks]

    def arcs(self) -> Arcs:
        """Return the arcs of the lane, layer by layer, that a path of small enough reduced cost may use."""
        reached = _Reached(np.zeros(1, np.int64), np.zeros(1, np.int64))
        tails: list[IntVector] = []
        for depth, layer in enumerate(self.lane.layers):
            steps = [self._step(reached, depth, r) for r in layer]
            tails += [step.at - self.lane.options[r].shift for step, r in zip(steps, layer, strict=True)]
            if sum(len(tail) for tail in tails[-len(layer) :]) + sum(map(len, tails)) > MOST_ARCS:
                raise TooLarge
            reached = _merged(steps)
        return self._joined(tails, reached)

    def _step(self, reached: _Reached, depth: int, r: int) -> _Reached:
        """Return what option ``r`` reaches and is still of use there."""
        option = self.lane.options[r]
        value = int(self.ceiling.values[option.piece]) * option.copies
        after = _Reached(reached.at + option.shift, reached.worth + value)
        after = after.kept(after.at < self.lane.size)
        return after.kept(after.worth + self._rest(depth, after.at) >= self.least)

    def _rest(self, depth: int, at: IntVector) -> IntVector:
        """Return the most that layers after ``depth`` can add, the stick's price paid."""
        if depth + 1 < len(self.lane.layers) and depth + 1 < sum(self.lane.ends):
            return np.full(len(at), -NEVER, np.int64)
        piece = self.lane.options[self.lane.layers[depth][0]].piece if depth >= sum(self.lane.ends) else -1
        table = self.ceiling.rest[bisect_right(self.ceiling.pieces, piece)]
        rest = np.full(len(at), NEVER, np.int64)
        for length, price in zip(self.lane.lengths, self.prices, strict=True):
            here = table[np.maximum(length - at, 0) // self.ceiling.cell] - price
            np.maximum(rest, np.where(at <= length, here, NEVER), out=rest)
        return rest

    def _joined(self, tails: Sequence[IntVector], reached: _Reached) -> Arcs:
        heads = [tail + option.shift for tail, option in zip(tails, self.lane.options, strict=True)]
        places = np.unique(np.concatenate([np.zeros(1, np.int64), *tails, *heads]))
        stops = zip(self.lane.lengths, self.prices, strict=True)
        ends = [reached.at[(reached.at <= length) & (reached.worth - price >= self.least)] for length, price in stops]
        parts: tuple[Sequence[NDArray[np.int64]], ...] = (tails, heads, ends)
        renamed = (tuple(np.searchsorted(places, part) for part in each) for each in parts)
        return Arcs(places, *renamed)


def _merged(steps: Sequence[_Reached]) -> _Reached:
    """Return the positions of all steps, each once with the most collected."""
    at, worth = np.concatenate([step.at for step in steps]), np.concatenate([step.worth for step in steps])
    if not len(at):
        return _Reached(at, worth)
    order = np.argsort(at, kind="stable")
    at, worth = at[order], worth[order]
    starts = np.flatnonzero(np.concatenate(([True], at[1:] != at[:-1])))
    return _Reached(at[starts], np.maximum.reduceat(worth, starts))
