"""What pieces are worth, and pricing: the run columns that cost least and the stick columns that are worth most.

Prices are floats and choose: ``first[kinds][cells]`` and ``last[kinds][cells]`` by length, one for each plain piece. A
first piece of ``a`` ticks fills ``model.cells(a)`` cells of the grid. They never fall with length: a longer slot
may serve a shorter piece.

Dual values are whole numbers, so what comes out of them is exact: a lower bound for all plans follows whatever the
values are. For a stick: the bounded knapsack over plain pieces; with the best slot at its right end (since values
never fall with length, that slot takes all the fill leaves); then the best slot at its left end.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solver.cutting.reachable import halves
from solver.laps.bounds.columns import NONE, ColumnFamily, RunClasses, RunColumn, StickColumn, lap_count
from solver.laps.bounds.dual_values import DualValues, NumberRow
from solver.laps.model import Floats, Ints, LapModel, RunCandidate
from solver.laps.templates import Kinds

Vector = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Prices:
    """Prices in units of cost: ``first[kinds][cells]``, ``last[kinds][cells]``, ``plain[place in model.plain]``.

    The first two have shape (width + 1,), the last one (plain kinds,).

    ``sticks[kind]`` is what one stick costs, with what it is worth on top where there are few.
    """

    first: Mapping[Kinds, Floats]
    last: Mapping[Kinds, Floats]
    plain: Floats
    sticks: Sequence[float]


def by_length(model: LapModel) -> Prices:
    """Return prices in proportion to length, at the cheapest stick's rate."""
    problem = model.problem
    rates = [stick.cost / stick.length for stick in problem.sticks if stick.cost > 0 and stick.limit != 0]
    rate = min(rates, default=0.0)
    cells: Floats = (np.arange(model.width + 1) * (model.cell * rate)).astype(np.float64)
    firsts, lasts = model.sides
    plain = np.array([problem.taken(problem.pieces[i].length) * rate for i in model.plain])
    sticks = [stick.cost or rate * stick.length for stick in problem.sticks]
    return Prices(dict.fromkeys(firsts, cells), dict.fromkeys(lasts, cells), plain, sticks)


A_LAP = 5e-4
"""What a lap counts when runs are laid, in shares of the dearest stick's cost: enough to settle what is equal."""


class PriceList:
    """Looks prices up by length in ticks."""

    def __init__(self, model: LapModel, prices: Prices, lap: float = A_LAP) -> None:
        """``lap`` is what a lap counts beside its price, in shares of the dearest stick's cost."""
        self._model, self._top = model, model.width
        self.prices = prices
        self.cost = list(prices.sticks)
        self._lap = lap * max(self.cost) + model.problem.rules.lap_price

    def first(self, kinds: Kinds, lengths: Ints) -> Floats:
        """Return what first pieces of these lengths (no longer than the longest stick) from these sticks are worth.

        ``lengths`` are ticks; the answer has their shape.
        """
        return self._look_up(_of(self.prices.first, kinds), lengths)

    def last(self, kinds: Kinds, lengths: Ints) -> Floats:
        """Return what last pieces of these lengths from these sticks are worth; see ``first``."""
        return self._look_up(_of(self.prices.last, kinds), lengths)

    def one_first(self, kinds: Kinds, length: int) -> float:
        """Return what one first piece is worth; nothing if there is none."""
        return float(_of(self.prices.first, kinds)[self._at(length)]) if kinds else 0.0

    def one_last(self, kinds: Kinds, length: int) -> float:
        """Return what one last piece is worth; nothing if there is none."""
        return float(_of(self.prices.last, kinds)[self._at(length)]) if kinds else 0.0

    def wholes(self, candidate: RunCandidate) -> float:
        """Return what a candidate's whole sticks and laps cost, a lap next to nothing more: of equals the fewest."""
        return sum(self.cost[k] for k in candidate.template.wholes) + self._lap * len(candidate.offsets)

    def cheapest(self, candidate: RunCandidate, step: int) -> float:
        """Return the least that a candidate can cost, looking at every ``step`` ticks."""
        lengths = np.arange(candidate.low, candidate.high + 1, step)
        worth = np.zeros(len(lengths))
        if candidate.template.first:
            worth = worth + self.first(candidate.template.first, lengths)
        if candidate.template.last:
            worth = worth + self.last(candidate.template.last, candidate.template.rest - lengths)
        return self.wholes(candidate) + float(worth.min())

    def _look_up(self, prices: Floats, lengths: Ints) -> Floats:
        found: Floats = prices[self._model.cells(lengths)]
        return found

    def _at(self, length: int) -> int:
        return min(self._model.cells(length), self._top)


def _of(side: Mapping[Kinds, Floats], kinds: Kinds) -> Floats:
    """Return the prices of pieces from these sticks; where no template asks for just these, the dearest of each."""
    if kinds in side:
        return side[kinds]
    found: Floats = np.maximum.reduce([prices for others, prices in side.items() if others & kinds] or [*side.values()])
    return found


class Fills:
    """The bounded knapsack over plain pieces, kept so that every size can be traced back.

    ``worth`` has shape (width + 1,): ``worth[x]`` is the most that pieces of total size exactly ``x`` are worth (-inf
    where there are none) if ``exact``, else of size ``x`` at the most, in the type of ``values``.
    """

    def __init__(self, sizes: Sequence[int], values: Vector, counts: Sequence[int], width: int, *, exact: bool) -> None:
        """``width`` is the largest size. Pieces of no value are left out unless ``exact``."""
        self.worth: Vector = np.zeros(width + 1, values.dtype)
        if exact:
            self.worth = np.full(width + 1, -np.inf)
            self.worth[0] = 0.0
        self._parts: list[tuple[int, int, int, NDArray[np.bool_]]] = []
        for piece, (size, count) in enumerate(zip(sizes, counts, strict=True)):
            if count > 0 and (exact or values[piece] > 0):
                for times in halves(min(count, width // size)):
                    self._add(piece, times, size * times, values[piece] * times)

    def _add(self, piece: int, times: int, size: int, value: np.number[Any]) -> None:
        worth = self.worth
        if size >= len(worth):
            return
        tried = worth[: len(worth) - size] + value
        better = tried > worth[size:]
        if better.any():
            self.worth = worth.copy()
            self.worth[size:][better] = tried[better]
            self._parts.append((piece, times, size, better))

    def trace(self, size: int) -> list[int]:
        """Return the pieces behind ``worth[size]``, by index, repeated."""
        pieces: list[int] = []
        for piece, times, taken, better in reversed(self._parts):
            if size >= taken and better[size - taken]:
                pieces += [piece] * times
                size -= taken
        return pieces


@dataclass(frozen=True, slots=True)
class Priced:
    """What the values say of how many sticks of each kind there are, and promising columns."""

    row: NumberRow
    cuts: tuple[StickColumn, ...]
    splits: tuple[RunColumn, ...]


@dataclass(frozen=True, slots=True)
class _BestFills:
    """The most that a slot of one side and plain pieces are worth in so many cells, and the cells that these fill.

    Both have shape (width + 1,).
    """

    worth: Ints
    fill: Ints


class Pricer:
    """Prices columns over one model."""

    def __init__(self, model: LapModel, classes: RunClasses) -> None:
        self._model, self._families, self._demand, self._laps = model, classes.families, classes.demand, classes.laps
        problem = model.problem
        self._width = model.width
        self._caps = [model.cells(stick.length) for stick in problem.sticks]
        self._sizes = model.sizes
        self._counts = [problem.pieces[i].demand for i in model.plain]
        self._sets = [
            tuple(tuple(n for n, kinds in enumerate(side) if k in kinds) for side in model.sides)
            for k in range(len(problem.sticks))
        ]
        self._kinds = [k for k, stick in enumerate(problem.sticks) if stick.limit != 0]

    def value(self, values: DualValues, each: int, per_class: int) -> Priced:
        """Return the row that the values prove, and for every stick and class the best columns."""
        fills = Fills(self._sizes, values.plain, self._counts, self._width, exact=False)
        stick_of = {sets: self._with_right(fills, values, sets) for sets in {self._sets[k][0] for k in self._kinds}}
        cuts: list[StickColumn] = []
        ceilings = [0] * len(self._caps)
        for kind in self._kinds:
            ceilings[kind], best = self._best_cuts(kind, fills, stick_of[self._sets[kind][0]], values, each)
            cuts += best
        # A whole stick counts for what it costs, or for what the best cut of it is worth where that is more.
        prices = [max(pair) for pair in zip(ceilings, values.sticks.tolist(), strict=True)]
        least, splits = self._best_splits(values, prices, per_class)
        worth = sum(n * c for n, c in zip(self._demand, least, strict=True))
        worth += sum(n * int(v) for n, v in zip(self._counts, values.plain, strict=True))
        worth += sum(v * n for v, (_, n) in zip(values.laps, self._laps, strict=False))
        return Priced(NumberRow(tuple(prices), worth, values.scale), tuple(cuts), tuple(splits))

    def _with_right(self, fills: Fills, values: DualValues, sets: tuple[int, ...]) -> _BestFills:
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
        return _BestFills(worth, fill)

    @staticmethod
    def _slot(side: Sequence[Ints], sets: tuple[int, ...]) -> Ints | None:
        """Return the most that a slot of each size is worth from a stick in these sets."""
        if not sets:
            return None
        best: Ints = np.maximum.reduce([side[n] for n in sets])
        return best

    def _best_cuts(
        self, kind: int, fills: Fills, stick_of: _BestFills, values: DualValues, each: int
    ) -> tuple[int, list[StickColumn]]:
        cap = self._caps[kind]
        worth = stick_of.worth[cap::-1]
        slot = self._slot(values.slots[1], self._sets[kind][1])
        if slot is not None:
            worth = worth + np.where(np.arange(cap + 1) > 0, slot[: cap + 1], 0)
        order = np.argsort(-worth, kind="stable")[:each]
        return int(worth[order[0]]), [self._cut(kind, int(n), fills, stick_of, values) for n in order]

    def _cut(self, kind: int, left: int, fills: Fills, stick_of: _BestFills, values: DualValues) -> StickColumn:
        room = self._caps[kind] - left
        size = int(stick_of.fill[room])
        right = room - size
        better = stick_of.worth[room] > fills.worth[size]
        first = self._set_of(values.slots[0], self._sets[kind][0], right) if better else NONE
        last = self._set_of(values.slots[1], self._sets[kind][1], left)
        plain = tuple(sorted(fills.trace(size)))
        return StickColumn(kind, plain, first, right if first != NONE else 0, last, left if last != NONE else 0)

    @staticmethod
    def _set_of(side: Sequence[Ints], sets: tuple[int, ...], cells: int) -> int:
        worth = [(int(side[n][cells]), -n) for n in sets]
        best = max(worth, default=(0, 0))
        return -best[1] if best[0] > 0 and cells > 0 else NONE

    def _best_splits(
        self, values: DualValues, prices: Sequence[int], per_class: int
    ) -> tuple[list[int], list[RunColumn]]:
        least, splits = [], []
        for alike, families in enumerate(self._families):
            lap = sum(v for v, (classes, _) in zip(values.laps, self._laps, strict=False) if alike in classes)
            priced = [self._costs(family, values, prices) - lap * lap_count(family) for family in families]
            least.append(min((int(costs.min()) for costs in priced), default=0))
            splits += list(self._cheapest(families, priced, per_class))
        return least, splits

    @staticmethod
    def _costs(family: ColumnFamily, values: DualValues, prices: Sequence[int]) -> Ints:
        costs = np.full(len(family.firsts), sum(prices[k] for k in family.wholes))
        if family.first != NONE:
            costs = costs + values.slots[0][family.first][family.firsts]
        if family.last != NONE:
            costs = costs + values.slots[1][family.last][family.lasts]
        return costs

    @staticmethod
    def _cheapest(families: Sequence[ColumnFamily], priced: Sequence[Ints], per_class: int) -> Iterator[RunColumn]:
        ranked = sorted(
            (int(costs[at]), n, int(at))
            for n, costs in enumerate(priced)
            for at in np.argsort(costs, kind="stable")[:per_class]
        )
        for _, n, at in ranked[:per_class]:
            yield families[n].split(at)
