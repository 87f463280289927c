"""Reduced-cost fixing on arcs: duals repaired to be feasible, tables of best paths, and which arcs these leave.

``fair`` repairs integer duals to prices by which no pattern is worth more than its stick, and says what gap is left.
Let a piece be worth ``v_i``, an arc ``e_a`` and a stick be charged ``m_k`` beside its cost, in parts of
``scale``. A path ending at stick ``k`` has the reduced cost ``scale c_k + m_k - (worth of its pieces and
arcs)``, and with charges high enough no path's is below 0. Summed over the sticks of a plan that cuts every
piece exactly as often as wanted and costs ``target`` at most, they come to

    gap = scale * target + sum m_k n_k - sum v_i d_i - sum e_a f_a

at most, with ``n_k`` and ``f_a`` at whichever of their limits makes it largest. A gap below 0: no such
plan. A path whose own reduced cost exceeds the gap: in no such plan. All whole numbers: rounding the
duals costs some gap, never the proof.

``Tables`` hold the best path to and from every place of a lane, by dynamic programming over its layers.
``into[d, p]`` is the most that a path from the start to place ``p`` before layer ``d`` collects,
``onto[d, p]`` the most from there to the end of a stick, its price paid. So the best path through an
arc is ``into + value + onto``: that is what pricing looks for and what fixing compares (Irnich,
Desaulniers, Desrosiers and Hadjar 2010). All in whole numbers.

An arc that is on no path of small enough reduced cost can go (fixing by reduced cost; for flows: Irnich,
Desaulniers, Desrosiers and Hadjar 2010; de Lima, Iori and Miyazawa 2022, section 4).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from solver.cutting.arcflow.graph import Arc, Arcs, Lane, Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.pricing.protocol import IntVector

NEVER = -(2**60)
"""Stands for minus infinity: sums of values stay far above it."""


@dataclass(frozen=True, slots=True)
class Worth:
    """Duals in whole parts of ``scale``: of pieces, of sticks (``charges``, what one is charged), of single arcs.

    ``values[i]`` is of piece ``i``, ``charges[k]`` of stick ``k``.
    """

    scale: int
    values: IntVector
    charges: tuple[int, ...]
    arcs: Mapping[Arc, int]

    def prices(self, costs: Sequence[int]) -> tuple[int, ...]:
        """Return what a stick costs and is charged."""
        return tuple(self.scale * cost + charge for cost, charge in zip(costs, self.charges, strict=True))


@dataclass(frozen=True, slots=True)
class Question:
    """Whether a plan of at most ``target`` exists, with these counts of sticks and flows on arcs."""

    demands: Sequence[int]
    costs: Sequence[int]
    counts: Counts
    flows: Mapping[Arc, tuple[int, int | None]]
    target: int


@dataclass(frozen=True, slots=True)
class Fair:
    """Prices by which no path is worth more than its stick, and the gap; None where a stick is free without limit."""

    prices: tuple[int, ...]
    gap: int | None

    @property
    def hopeless(self) -> bool:
        """Whether there is no plan within the target."""
        return self.gap is not None and self.gap < 0

    @property
    def least(self) -> int:
        """What a path of a plan within the target collects at least, beyond its price: 0 or less."""
        return NEVER // 2 if self.gap is None else -min(self.gap, -NEVER // 2)


def fair(question: Question, worth: Worth, best: Sequence[int]) -> Fair:
    """Make duals fair; ``best[k]``: no path that ends at stick ``k`` collects more, ``NEVER`` where there is none."""
    scale = _fair_scale(question, best, worth.scale)
    charges = _charges(question, best, worth, scale)
    prices = Worth(scale, worth.values, charges, {}).prices(question.costs)
    return Fair(prices, _gap(question, worth, charges, scale * question.target) if scale else None)


def _fair_scale(question: Question, best: Sequence[int], scale: int) -> int:
    """Return the scale, raised until no unlimited stick holds more than it costs (Farley 1990); 0 where none does."""
    for most, cost, top in zip(question.counts.most, question.costs, best, strict=True):
        if most is None and top > 0:
            scale = max(scale, -(-top // cost)) if cost and scale else 0
    return scale


def _charges(question: Question, best: Sequence[int], worth: Worth, scale: int) -> tuple[int, ...]:
    """Return the charges asked for, raised until no path has a reduced cost below 0."""
    raised = []
    for asked, cost, most, top in zip(worth.charges, question.costs, question.counts.most, best, strict=True):
        charge = max(asked, top - scale * cost) if top > NEVER else asked
        raised.append(min(charge, 0) if most is None else charge)
    return tuple(raised)


def _gap(question: Question, worth: Worth, charges: Sequence[int], total: int) -> int:
    total -= sum(int(v) * d for v, d in zip(worth.values, question.demands, strict=True))
    for charge, least, most in zip(charges, question.counts.least, question.counts.most, strict=True):
        total += charge * (least if charge < 0 or most is None else most)
    for arc, amount in worth.arcs.items():
        least, most = question.flows[arc]
        total -= amount * (least if amount > 0 or most is None else most)
    return total


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
    """Both tables of a lane (layers + 1, places), and the prices of the lane's sticks."""

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
        """Return the best path through each arc of option ``r``, in their order; ``r`` is in layer ``depth``."""
        tails, heads = self.arcs.tails[r], self.arcs.heads[r]
        past: IntVector = self.into[depth, tails] + self.onto[depth + 1, heads]
        return past + self.collected.on(self.lane, self.arcs, r)


def forward(lane: Lane, arcs: Arcs, collected: Collected) -> IntVector:
    """Return ``into`` (layers + 1, places)."""
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
    """Return ``onto`` (layers + 1, places); ``prices`` are those of the lane's sticks."""
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
            made.append(
                Tables(
                    lane=lane,
                    arcs=arcs,
                    collected=collected,
                    prices=paid,
                    into=into,
                    onto=backward(lane, arcs, collected, paid),
                )
            )
        return tuple(made)


def weigh(space: Space, node: Node, worth: Worth, target: int) -> Weighed:
    """Make the duals fair to every path that is left, and say what they prove."""
    collected = tuple(_collected(n, worth) for n in range(len(space.lanes)))
    parts = zip(space.lanes, node.arcs, collected, strict=True)
    into = tuple(forward(lane, arcs, each) for lane, arcs, each in parts)
    best = _best_ends(space, node, into, worth.values)
    question = Question(space.demands, space.costs, node.counts, node.flows, target)
    return Weighed(
        space=space, node=node, collected=collected, into=into, worth=worth, fair=fair(question, worth, best)
    )


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
    priced = [*zip(problem.sticks, space.costs, strict=True)][: space.reduced.priced]
    scale = max((-(-fine * stick.length // cost) for stick, cost in priced if cost), default=1)
    return Worth(max(1, scale), values, (0,) * len(space.costs), {})


def mean(duals: Sequence[Worth]) -> Worth:
    """Return the mean of duals, leaving out what single arcs are worth."""
    scale = min(worth.scale for worth in duals)
    values = np.mean([worth.values / worth.scale for worth in duals], axis=0)
    charges = np.mean([np.array(worth.charges) / worth.scale for worth in duals], axis=0)
    return Worth(scale, np.floor(values * scale).astype(np.int64), tuple(int(c) for c in charges * scale), {})
