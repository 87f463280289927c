"""What integer duals prove of a part: the gap to the target, and which arcs are too far from every good plan.

Let a piece be worth ``v_i``, an arc ``e_a`` and a stick be charged ``m_k`` beside its cost, in parts of
``scale``. A path ending at stick ``k`` has the reduced cost ``scale c_k + m_k - (worth of its pieces and
arcs)``, and with charges high enough no path's is below 0. Summed over the sticks of a plan that cuts every
piece exactly as often as wanted and costs ``target`` at most, they come to

    gap = scale * target + sum m_k n_k - sum v_i d_i - sum e_a f_a

at most, with ``n_k`` and ``f_a`` at whichever of their limits makes it largest. A gap below 0: no such
plan. A path whose own reduced cost exceeds the gap: in no such plan, and an arc on no other path can go
(fixing by reduced cost; for flows: Irnich, Desaulniers, Desrosiers and Hadjar 2010; de Lima, Iori and
Miyazawa 2022, section 4). All whole numbers: rounding the duals costs some gap, never the proof.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from solver.cutting.flow.graph import Arcs
from solver.cutting.flow.node import Arc, Node, Space
from solver.cutting.flow.tables import NEVER, Collected, Tables, backward, forward
from solver.cutting.pricing import IntVector


@dataclass(frozen=True, slots=True)
class Worth:
    """Duals in whole parts of ``scale``: of pieces, of sticks (``charges``, what one is charged), of single arcs."""

    scale: int
    values: IntVector
    charges: tuple[int, ...]
    arcs: Mapping[Arc, int]


@dataclass(frozen=True, slots=True)
class Weighed:
    """Duals made feasible for every path of a part, and the gap they leave.

    ``prices``: what a stick costs and is charged now, ``asked``: before the charges were raised. The gap is
    None where a stick is free without limit.
    """

    space: Space
    node: Node
    values: IntVector
    collected: tuple[Collected, ...]
    into: tuple[IntVector, ...]
    asked: tuple[int, ...]
    prices: tuple[int, ...]
    gap: int | None

    @property
    def least(self) -> int:
        """What a path of a plan within the target collects at least, beyond its price: 0 or less."""
        return NEVER // 2 if self.gap is None else -min(self.gap, -NEVER // 2)

    def tables(self, prices: Sequence[int]) -> tuple[Tables, ...]:
        """Return the tables by lane at these prices of sticks."""
        parts = zip(self.space.lanes, self.node.arcs, self.collected, self.into, strict=True)
        return tuple(
            Tables(lane, arcs, collected, into, backward(lane, arcs, collected, [prices[k] for k in lane.sticks]))
            for lane, arcs, collected, into in parts
        )


def weigh(space: Space, node: Node, worth: Worth, target: int) -> Weighed:
    """Make the duals feasible for every path that is left, and say what they prove."""
    collected = tuple(_collected(n, worth) for n in range(len(space.lanes)))
    parts = zip(space.lanes, node.arcs, collected, strict=True)
    into = tuple(forward(lane, arcs, each) for lane, arcs, each in parts)
    best = _best_ends(space, node, into, worth.values)
    scale = _fair_scale(space, node, best, worth.scale)
    charges = _charges(space, node, best, worth, scale)
    gap = _gap(space, node, worth, charges, scale * target) if scale else None
    asked = _prices(space, worth.scale, worth.charges)
    return Weighed(space, node, worth.values, collected, into, asked, _prices(space, scale, charges), gap)


def _prices(space: Space, scale: int, charges: Sequence[int]) -> tuple[int, ...]:
    return tuple(scale * cost + charge for cost, charge in zip(space.costs, charges, strict=True))


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


def _fair_scale(space: Space, node: Node, best: Sequence[int], scale: int) -> int:
    """Return the scale, raised until no unlimited stick holds more than it costs (Farley 1990); 0 where none does."""
    for most, cost, top in zip(node.counts.most, space.costs, best, strict=True):
        if most is None and top > 0:
            scale = max(scale, -(-top // cost)) if cost and scale else 0
    return scale


def _charges(space: Space, node: Node, best: Sequence[int], worth: Worth, scale: int) -> list[int]:
    """Return the charges asked for, raised until no path has a reduced cost below 0."""
    charges = []
    for k, top in enumerate(best):
        charge = max(worth.charges[k], top - scale * space.costs[k]) if top > NEVER else worth.charges[k]
        charges.append(min(charge, 0) if node.counts.most[k] is None else charge)
    return charges


def _gap(space: Space, node: Node, worth: Worth, charges: Sequence[int], total: int) -> int:
    total -= sum(int(v) * d for v, d in zip(worth.values, space.demands, strict=True))
    for charge, least, most in zip(charges, node.counts.least, node.counts.most, strict=True):
        total += charge * (least if charge < 0 or most is None else most)
    for arc, amount in worth.arcs.items():
        least, most = node.flows[arc]
        total -= amount * (least if amount > 0 or most is None else most)
    return total


def fixed(weighed: Weighed, tables: Sequence[Tables]) -> Node:
    """Return the part without the arcs and given patterns that no plan within the target has.

    ``tables`` are those at the prices of ``weighed``.
    """
    least, prices = weighed.least, weighed.prices
    arcs = tuple(_fixed(each, prices, least) for each in tables)
    given = tuple(p for p in weighed.node.given if int(weighed.values[p.pieces[0]]) - prices[p.stick] >= least)
    return replace(weighed.node, arcs=arcs, given=given)


def _fixed(tables: Tables, prices: Sequence[int], least: int) -> Arcs:
    bits = [tables.through(d, r) >= least for d, layer in enumerate(tables.lane.layers) for r in layer]
    stops = zip(tables.lane.sticks, tables.arcs.ends, strict=True)
    ends = [tables.into[-1, places] - prices[k] >= least for k, places in stops]
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
