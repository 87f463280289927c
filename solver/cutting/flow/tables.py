"""The best path to and from every place of a lane, by dynamic programming over its layers.

``into[d, p]`` is the most that a path from the start to place ``p`` before layer ``d`` collects,
``onto[d, p]`` the most from there to the end of a stick, its price paid. So the best path through an
arc is ``into + value + onto``: that is what pricing looks for and what fixing compares (Irnich,
Desaulniers, Desrosiers and Hadjar 2010). All in whole numbers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from solver.cutting.flow.fairness import NEVER
from solver.cutting.flow.graph import Arcs, Lane
from solver.cutting.pricing import IntVector


@dataclass(frozen=True, slots=True)
class Collected:
    """What arcs collect: ``values`` per copy of a piece, and ``extras[option]`` as ``(position, amount)`` besides."""

    values: IntVector
    extras: Mapping[int, Sequence[tuple[int, int]]] = field(default_factory=dict)

    def on(self, lane: Lane, arcs: Arcs, r: int) -> IntVector | int:
        """Return what the arcs of option ``r`` collect: one number, or one each where some differ."""
        option = lane.options[r]
        value = int(self.values[option.piece]) * option.copies
        if r not in self.extras:
            return value
        amounts = np.full(len(arcs.tails[r]), value, np.int64)
        for position, amount in self.extras[r]:
            amounts[arcs.positions(r) == position] += amount
        return amounts


@dataclass(frozen=True, slots=True)
class Tables:
    """Both tables of a lane, one row more than there are layers, and the prices of the lane's sticks."""

    lane: Lane
    arcs: Arcs
    collected: Collected
    prices: tuple[int, ...]
    into: IntVector
    onto: IntVector

    @property
    def best(self) -> int:
        """The most that any path collects."""
        return int(self.onto[0, 0])

    def through(self, depth: int, r: int) -> IntVector:
        """Return the best path through each arc of option ``r``, which is in layer ``depth``."""
        tails, heads = self.arcs.tails[r], self.arcs.heads[r]
        past: IntVector = self.into[depth, tails] + self.onto[depth + 1, heads]
        return past + self.collected.on(self.lane, self.arcs, r)


def forward(lane: Lane, arcs: Arcs, collected: Collected) -> IntVector:
    """Return ``into``."""
    into = np.full((len(lane.layers) + 1, len(arcs.places)), NEVER, np.int64)
    into[0, 0] = 0
    for depth, layer in enumerate(lane.layers):
        here, after = into[depth], into[depth + 1]
        for r in layer:
            tails, heads = arcs.tails[r], arcs.heads[r]
            if len(tails):
                after[heads] = np.maximum(after[heads], here[tails] + collected.on(lane, arcs, r))
    return into


def backward(lane: Lane, arcs: Arcs, collected: Collected, prices: Sequence[int]) -> IntVector:
    """Return ``onto``; ``prices`` are those of the lane's sticks."""
    onto = np.full((len(lane.layers) + 1, len(arcs.places)), NEVER, np.int64)
    for ends, price in zip(arcs.ends, prices, strict=True):
        onto[-1, ends] = np.maximum(onto[-1, ends], -price)
    for depth in reversed(range(len(lane.layers))):
        here, after = onto[depth], onto[depth + 1]
        for r in lane.layers[depth]:
            tails, heads = arcs.tails[r], arcs.heads[r]
            if len(tails):
                here[tails] = np.maximum(here[tails], after[heads] + collected.on(lane, arcs, r))
    return onto
