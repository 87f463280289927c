"""Duals put on the arcs of a part: tables of best paths at fair prices, and which arcs those leave.

An arc that is on no path of small enough reduced cost can go (fixing by reduced cost; for flows: Irnich,
Desaulniers, Desrosiers and Hadjar 2010; de Lima, Iori and Miyazawa 2022, section 4).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from solver.cutting.flow.fairness import NEVER, Fair, Question, Worth, fair
from solver.cutting.flow.graph import Arcs
from solver.cutting.flow.node import Node, Space
from solver.cutting.flow.tables import Collected, Tables, backward, forward
from solver.cutting.pricing import IntVector


@dataclass(frozen=True, slots=True)
class Weighed:
    """Duals on a part: ``into`` by lane, what sticks were ``asked`` for, and the fair prices with their gap."""

    space: Space
    node: Node
    collected: tuple[Collected, ...]
    into: tuple[IntVector, ...]
    worth: Worth
    fair: Fair

    def asked(self) -> tuple[Tables, ...]:
        """Return the tables by lane at the prices that the duals ask: what collects more is worth a column."""
        return self._tables(self.worth.prices(self.space.costs))

    def paid(self) -> tuple[Tables, ...]:
        """Return the tables by lane at the fair prices: what collects too little is in no plan."""
        return self._tables(self.fair.prices)

    def _tables(self, prices: Sequence[int]) -> tuple[Tables, ...]:
        made = []
        for lane, arcs, collected, into in zip(
            self.space.lanes, self.node.arcs, self.collected, self.into, strict=True
        ):
            paid = tuple(prices[k] for k in lane.sticks)
            made.append(Tables(lane, arcs, collected, paid, into, backward(lane, arcs, collected, paid)))
        return tuple(made)


def weigh(space: Space, node: Node, worth: Worth, target: int) -> Weighed:
    """Make the duals fair to every path that is left, and say what they prove."""
    collected = tuple(_collected(n, worth) for n in range(len(space.lanes)))
    parts = zip(space.lanes, node.arcs, collected, strict=True)
    into = tuple(forward(lane, arcs, each) for lane, arcs, each in parts)
    best = _best_ends(space, node, into, worth.values)
    question = Question(space.demands, space.costs, node.counts, node.flows, target)
    return Weighed(space, node, collected, into, worth, fair(question, worth, best))


def _collected(n: int, worth: Worth) -> Collected:
    extras: dict[int, list[tuple[int, int]]] = {}
    for (lane, option, position), amount in worth.arcs.items():
        if lane == n:
            extras.setdefault(option, []).append((position, amount))
    return Collected(worth.values, extras)


def _best_ends(space: Space, node: Node, intos: Sequence[IntVector], values: IntVector) -> list[int]:
    """Return the most that a path ending at each stick collects before it pays."""
    best = [NEVER] * len(space.costs)
    for lane, arcs, into in zip(space.lanes, node.arcs, intos, strict=True):
        for k, ends in zip(lane.sticks, arcs.ends, strict=True):
            best[k] = max(best[k], int(into[-1, ends].max(initial=NEVER)))
    for pattern in node.given:
        best[pattern.stick] = max(best[pattern.stick], int(values[pattern.pieces[0]]))
    return best


def fixed(weighed: Weighed, paid: Sequence[Tables]) -> Node:
    """Return the part without the arcs and given patterns that no plan within the target has."""
    least, prices, values = weighed.fair.least, weighed.fair.prices, weighed.worth.values
    arcs = tuple(_fixed(tables, least) for tables in paid)
    given = tuple(p for p in weighed.node.given if int(values[p.pieces[0]]) - prices[p.stick] >= least)
    return replace(weighed.node, arcs=arcs, given=given)


def _fixed(tables: Tables, least: int) -> Arcs:
    bits = [tables.through(d, r) >= least for d, layer in enumerate(tables.lane.layers) for r in layer]
    stops = zip(tables.prices, tables.arcs.ends, strict=True)
    ends = [tables.into[-1, places] - price >= least for price, places in stops]
    return tables.arcs.kept(bits, ends)


def by_length(space: Space) -> Worth:
    """Return the duals that hold for every cutting problem: a piece is worth its length (the material bound)."""
    problem, fine = space.reduced.problem, 1 << 20
    values = np.array([piece.length * fine for piece in problem.pieces], np.int64)
    priced = problem.sticks[: space.reduced.priced]
    scale = max((-(-fine * stick.length // stick.cost) for stick in priced if stick.cost), default=1)
    return Worth(max(1, scale), values, (0,) * len(space.costs), {})


def mean(duals: Sequence[Worth]) -> Worth:
    """Return the mean of duals, leaving out what single arcs are worth."""
    scale = min(worth.scale for worth in duals)
    values = np.mean([worth.values / worth.scale for worth in duals], axis=0)
    charges = np.mean([np.array(worth.charges) / worth.scale for worth in duals], axis=0)
    return Worth(scale, np.floor(values * scale).astype(np.int64), tuple(int(c) for c in charges * scale), {})
