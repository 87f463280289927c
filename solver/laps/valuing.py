"""Pricing: the splits that cost least and the cuts that are worth most when every slot and piece has a value.

Values are whole numbers, so what comes out is exact: a lower bound for all plans follows from it whatever the
values are. For a stick: the bounded knapsack over plain pieces; with the best slot at its right end (since
values never fall with length, that slot takes all the fill leaves); then the best slot at its left end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from solver.laps.columns import NONE, Classes, Cut, Split, Template
from solver.laps.fills import Fills
from solver.laps.prices import Ints, width
from solver.laps.site import Site

Sides = tuple[tuple[Ints, ...], tuple[Ints, ...]]


@dataclass(frozen=True, slots=True)
class Values:
    """What things are worth in ``1 / scale`` units of cost.

    ``slots[side][set][cells]`` (side 0: right ends), plain pieces, and on top of its cost one stick of a limited kind.
    """

    slots: Sides
    plain: Ints
    used: dict[int, int]
    scale: int

    def towards(self, other: Values, tenths: int) -> Values:
        """Return these values moved so many tenths of the way to others of the same scale; slots still never fall."""

        def moved(one: Ints, two: Ints) -> Ints:
            return ((10 - tenths) * one + tenths * two) // 10

        first, last = (
            tuple(moved(one, two) for one, two in zip(mine, theirs, strict=True))
            for mine, theirs in zip(self.slots, other.slots, strict=True)
        )
        used = {k: ((10 - tenths) * v + tenths * other.used[k]) // 10 for k, v in self.used.items()}
        return Values((first, last), moved(self.plain, other.plain), used, self.scale)


@dataclass(frozen=True, slots=True)
class Valued:
    """A lower bound on the cost of every plan, and promising columns."""

    bound: Fraction
    cuts: tuple[Cut, ...]
    splits: tuple[Split, ...]


@dataclass(frozen=True, slots=True)
class _Filled:
    """For every number of cells: the most that a slot of one side and plain pieces in them are worth, and the fill."""

    worth: Ints
    fill: Ints


class Valuer:
    """Prices columns over one site."""

    def __init__(self, site: Site, classes: Classes) -> None:
        self._site, self._templates, self._demand = site, classes.templates, classes.demand
        problem = site.problem
        self._width = width(site)
        self._caps = [(stick.length + problem.kerf) // site.cell for stick in problem.sticks]
        self._sizes = [(problem.pieces[i].length + problem.kerf) // site.cell for i in site.plain]
        self._counts = [problem.pieces[i].demand for i in site.plain]
        self._sets = [
            tuple(tuple(n for n, kinds in enumerate(side) if k in kinds) for side in site.sides)
            for k in range(len(problem.sticks))
        ]
        self._kinds = [k for k, stick in enumerate(problem.sticks) if stick.limit != 0]

    def value(self, values: Values, each: int, per_class: int) -> Valued:
        """Return the bound that the values prove, and for every stick and class the best columns."""
        fills = Fills(self._sizes, values.plain, self._counts, self._width, exact=False)
        filled = {sets: self._with_right(fills, values, sets) for sets in {self._sets[k][0] for k in self._kinds}}
        cuts: list[Cut] = []
        most: dict[int, int] = {}
        for kind in self._kinds:
            ceiling, best = self._best_cuts(kind, fills, filled[self._sets[kind][0]], values, each)
            most[kind] = ceiling
            cuts += best
        stretch, used = self._balance(most, values)
        least, splits = self._best_splits(values, used, per_class)
        total = sum(n * c for n, c in zip(self._demand, least, strict=True))
        total += sum(n * int(v) for n, v in zip(self._counts, values.plain, strict=True))
        total -= sum((self._site.problem.sticks[k].limit or 0) * extra for k, extra in used.items())
        return Valued(Fraction(total) / (stretch * values.scale), tuple(cuts), tuple(splits))

    def _with_right(self, fills: Fills, values: Values, sets: tuple[int, ...]) -> _Filled:
        """Add the best slot at the right end to every fill that is worth more than any smaller one."""
        worth = fills.worth.copy()
        fill = np.arange(len(worth))
        slot = self._slot(values.slots[0], sets)
        if slot is not None:
            steps = np.flatnonzero(np.diff(fills.worth, prepend=-1))
            for size in steps.tolist():
                tried = slot[: len(worth) - size] + fills.worth[size]
                better = tried > worth[size:]
                worth[size:][better] = tried[better]
                fill[size:][better] = size
        return _Filled(worth, fill)

    @staticmethod
    def _slot(side: Sequence[Ints], sets: tuple[int, ...]) -> Ints | None:
        """Return the most that a slot of each size is worth from a stick in these sets."""
        if not sets:
            return None
        best: Ints = np.maximum.reduce([side[n] for n in sets])
        return best

    def _best_cuts(self, kind: int, fills: Fills, filled: _Filled, values: Values, each: int) -> tuple[int, list[Cut]]:
        cap = self._caps[kind]
        worth = filled.worth[cap::-1]
        slot = self._slot(values.slots[1], self._sets[kind][1])
        if slot is not None:
            worth = worth + np.where(np.arange(cap + 1) > 0, slot[: cap + 1], 0)
        order = np.argsort(-worth, kind="stable")[:each]
        return int(worth[order[0]]), [self._cut(kind, int(n), fills, filled, values) for n in order]

    def _cut(self, kind: int, left: int, fills: Fills, filled: _Filled, values: Values) -> Cut:
        room = self._caps[kind] - left
        size = int(filled.fill[room])
        right = room - size
        better = filled.worth[room] > fills.worth[size]
        first = self._set_of(values.slots[0], self._sets[kind][0], right) if better else NONE
        last = self._set_of(values.slots[1], self._sets[kind][1], left)
        plain = tuple(sorted(fills.trace(size)))
        return Cut(kind, plain, first, right if first != NONE else 0, last, left if last != NONE else 0)

    @staticmethod
    def _set_of(side: Sequence[Ints], sets: tuple[int, ...], cells: int) -> int:
        worth = [(int(side[n][cells]), -n) for n in sets]
        best = max(worth, default=(0, 0))
        return -best[1] if best[0] > 0 and cells > 0 else NONE

    def _balance(self, most: dict[int, int], values: Values) -> tuple[Fraction, dict[int, int]]:
        """Return by how much values must shrink so that no stick is worth more than it costs, and what limits cost."""
        stretch, used = Fraction(1), dict(values.used)
        for kind, ceiling in most.items():
            stick = self._site.problem.sticks[kind]
            cost = stick.cost * values.scale
            if stick.limit is not None:
                used[kind] = max(used.get(kind, 0), ceiling - cost)
            elif ceiling > cost:
                stretch = max(stretch, Fraction(ceiling, cost))
        return stretch, used

    def _best_splits(self, values: Values, used: dict[int, int], per_class: int) -> tuple[list[int], list[Split]]:
        least, splits = [], []
        for templates in self._templates:
            priced = [self._costs(template, values, used) for template in templates]
            least.append(min((int(costs.min()) for costs in priced), default=0))
            splits += list(self._cheapest(templates, priced, per_class))
        return least, splits

    def _costs(self, template: Template, values: Values, used: dict[int, int]) -> Ints:
        sticks = self._site.problem.sticks
        whole = sum(sticks[k].cost * values.scale + used.get(k, 0) for k in template.wholes)
        costs = np.full(len(template.firsts), whole)
        if template.first != NONE:
            costs = costs + values.slots[0][template.first][template.firsts]
        if template.last != NONE:
            costs = costs + values.slots[1][template.last][template.lasts]
        return costs

    @staticmethod
    def _cheapest(templates: Sequence[Template], priced: Sequence[Ints], per_class: int) -> Iterator[Split]:
        ranked = sorted(
            (int(costs[at]), n, int(at))
            for n, costs in enumerate(priced)
            for at in np.argsort(costs, kind="stable")[:per_class]
        )
        for _, n, at in ranked[:per_class]:
            yield templates[n].split(at)
