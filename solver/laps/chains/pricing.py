"""Pricing of chains: sticks that hang together through the runs that are split between them.

A split takes a piece at the right end of one stick and one at the left end of the next, so all splits and cuts of a
plan lie in chains. A chain is priced run by run, each at the best that can have come before it: a shortest path over
the lengths of pieces. What lies in a stick beside the pieces of runs comes from one knapsack over plain pieces.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solver.laps.bounds.columns import NONE, ColumnFamily, RunClasses, RunColumn, StickColumn, kinds_of, lap_cost
from solver.laps.bounds.pricing import Fills
from solver.laps.model import Floats, Ints, LapModel

MOST_RUNS = 2
"""Runs in a chain at the most: longer ones cost time, and the program's value hardly falls any more."""

EACH = 60
"""Chains taken a round."""

NOWHERE = -1e15
"""Stands for what can't be had; sums of some stay below every value."""

Places = Sequence[NDArray[np.bool_]]
"""For each family of splits, at which of its places a run may be split."""


class Chain(NamedTuple):
    """Cuts of sticks, and the splits of runs between them, from the first to the last."""

    cuts: tuple[StickColumn, ...]
    splits: tuple[RunColumn, ...]

    @property
    def columns(self) -> list[StickColumn | RunColumn]:
        """Its cuts and its splits."""
        return [*self.cuts, *self.splits]

    @property
    def plain(self) -> Counter[int]:
        """Its plain pieces, by place in ``model.plain``."""
        return Counter(piece for cut in self.cuts for piece in cut.plain)

    @property
    def sticks(self) -> Counter[int]:
        """Its sticks by kind, whole ones with them."""
        return Counter(kind for column in self.columns for kind in kinds_of(column).elements())

    @property
    def classes(self) -> Counter[int]:
        """How many runs of each class it has."""
        return Counter(split.alike for split in self.splits)


class Values(NamedTuple):
    """What plain pieces and classes are worth, and what a stick of each kind costs, in units of the program."""

    plain: Floats
    classes: Floats
    sticks: Floats


class _Opened(NamedTuple):
    """The best that lies before a first piece, by its cells, and by which stick it is had: shape (width + 1,).

    ``side`` and ``pending`` say what lies at the stick's left end: the set and cells of a last piece, NONE for nothing.
    """

    worth: Floats
    kind: Ints
    side: Ints
    pending: Ints


class _Pending(NamedTuple):
    """The best that ends in a last piece, by its cells: its worth, the family of the run and the place in it."""

    worth: Floats
    family: Ints
    place: Ints


class _Found(NamedTuple):
    """A chain that ends with this split (place in a family), after so many runs; then one more stick, or none."""

    worth: float
    level: int
    family: int
    place: int


class ChainPricer:
    """Finds the chains that are worth most; ``found_at`` says of each split in them its family and place there."""

    def __init__(self, model: LapModel, classes: RunClasses) -> None:
        self._model, self._width = model, model.width
        problem = model.problem
        self._caps = [model.cells(stick.length) for stick in problem.sticks]
        self._demand = [problem.pieces[i].demand for i in model.plain]
        self._kinds = [k for k, stick in enumerate(problem.sticks) if stick.limit != 0]
        # A piece that is the whole run and may lie anywhere in a stick is no slot's.
        self.families: list[ColumnFamily] = [
            family
            for families in classes.families
            for family in families
            if family.wholes or (family.first, family.last) != (NONE, NONE)
        ]
        self.found_at: dict[RunColumn, tuple[int, int]] = {}
        self._lap_costs = [lap_cost(model, family.split(0)) for family in self.families]

    def price(self, values: Values, left: Sequence[int], unit: float, open_at: Places, least: float) -> list[Chain]:
        """Return chains worth more than they cost by more than ``least``, the best of few runs if there are any.

        ``left`` are the plain pieces to be had; ``unit`` is the program's unit of cost.
        """
        self._values, self._open_at = values, open_at
        self._costs = [
            sum(values.sticks[k] for k in family.wholes) + lap / unit - values.classes[family.alike]
            for family, lap in zip(self.families, self._lap_costs, strict=True)
        ]
        self._fills = Fills(self._model.sizes, values.plain, left, self._width, exact=False)
        worth = self._fills.worth
        plain = [
            Chain((self._cut(k, NONE, 0, NONE, 0),), ())
            for k in self._kinds
            if worth[self._caps[k]] - values.sticks[k] > least
        ]
        for level in self._levels():
            best = sorted((found for found in level if found.worth > least), reverse=True)[:EACH]
            if best or plain:
                return plain + [self._traced(found) for found in best]
        return plain

    def _levels(self) -> Iterator[list[_Found]]:
        """Yield what ends a chain after one run, after two, and so on."""
        self._opened = [[self._afresh(kinds) for kinds in self._model.sides[0]]]
        self._ending = [self._afresh(kinds) for kinds in self._model.sides[1]]
        self._pending: list[list[_Pending]] = []
        for level in range(MOST_RUNS):
            yield self._laid(level)
            if level + 1 < MOST_RUNS:
                self._opened.append([self._going_on(kinds) for kinds in self._model.sides[0]])

    def _afresh(self, kinds: frozenset[int]) -> _Opened:
        """Return the best sticks that hold one piece of a run at an end, by its cells."""
        opened = self._nothing()
        for k in sorted(kinds):
            cap = self._caps[k]
            worth = self._fills.worth[cap::-1] - self._values.sticks[k]
            better = worth > opened.worth[: cap + 1]
            opened.worth[: cap + 1][better] = worth[better]
            opened.kind[: cap + 1][better] = k
        return opened

    def _nothing(self) -> _Opened:
        size = self._width + 1
        none, nothing = np.full(size, NONE), np.zeros(size, np.int64)
        return _Opened(np.full(size, NOWHERE), none.copy(), none, nothing)

    def _laid(self, level: int) -> list[_Found]:
        """Lay one more run at the end of every chain, and return what ends there."""
        found: list[_Found] = []
        size = self._width + 1
        pending = [
            _Pending(np.full(size, NOWHERE), np.full(size, NONE), np.zeros(size, np.int64))
            for _ in self._model.sides[1]
        ]
        for number, family in enumerate(self.families):
            if family.first == NONE and level:
                continue
            worth = self._worth(level, number, family)
            if family.last == NONE:
                done = worth
            else:
                done = worth + self._ending[family.last].worth[family.lasts]
                _keep(pending[family.last], family, number, worth)
            place = int(done.argmax())
            found.append(_Found(float(done[place]), level, number, place))
        self._pending.append(pending)
        return found

    def _worth(self, level: int, number: int, family: ColumnFamily) -> Floats:
        """Return by place what a chain up to this run is worth, less what it costs."""
        if family.first == NONE:
            return np.full(len(family.lasts), -self._costs[number])
        worth = self._opened[level][family.first].worth[family.firsts] - self._costs[number]
        return np.where(self._open_at[number], worth, NOWHERE)

    def _going_on(self, kinds: frozenset[int]) -> _Opened:
        """Return the best sticks with the last piece of a run at their left end, by cells of the next first piece."""
        opened = self._nothing()
        padded = np.concatenate((np.full(self._width + 1, NOWHERE), self._fills.worth))
        for side, (pending, others) in enumerate(zip(self._pending[-1], self._model.sides[1], strict=True)):
            rising = np.maximum.accumulate(pending.worth)
            lengths = np.flatnonzero(np.diff(rising, prepend=NOWHERE) > 0)
            for k in sorted(kinds & others) if len(lengths) else ():
                cap = self._caps[k]
                room = cap - lengths[:, None] - np.arange(cap + 1)[None, :]
                tried = padded[room + self._width + 1] + (pending.worth[lengths] - self._values.sticks[k])[:, None]
                best = tried.argmax(axis=0)
                worth = tried[best, np.arange(cap + 1)]
                better = worth > opened.worth[: cap + 1]
                for whole, part in zip(opened, (worth, k, side, lengths[best]), strict=True):
                    whole[: cap + 1][better] = part[better] if isinstance(part, np.ndarray) else part
        return opened

    def _traced(self, found: _Found) -> Chain:
        """Return the chain that ends so."""
        cuts: list[StickColumn] = []
        level, number, place = found.level, found.family, found.place
        split = self._split(number, place)
        splits = [split]
        if split.last != NONE:
            kind = int(self._ending[split.last].kind[split.last_cells])
            cuts.append(self._cut(kind, NONE, 0, split.last, split.last_cells))
        while split.first != NONE:
            opened = self._opened[level][split.first]
            kind, side, cells = (int(of[split.first_cells]) for of in opened[1:])
            cuts.append(self._cut(kind, split.first, split.first_cells, side, cells))
            if side == NONE:
                break
            level -= 1
            pending = self._pending[level][side]
            split = self._split(int(pending.family[cells]), int(pending.place[cells]))
            splits.append(split)
        return Chain(tuple(cuts[::-1]), tuple(splits[::-1]))

    def _split(self, number: int, place: int) -> RunColumn:
        split = self.families[number].split(place)
        self.found_at[split] = number, place
        return split

    def _cut(self, kind: int, first: int, first_cells: int, last: int, last_cells: int) -> StickColumn:
        plain = tuple(sorted(self._fills.trace(self._caps[kind] - first_cells - last_cells)))
        return StickColumn(kind, plain, first, first_cells, last, last_cells)


def _keep(pending: _Pending, family: ColumnFamily, number: int, worth: Floats) -> None:
    """Remember the best way to end in each length of last piece."""
    better = np.flatnonzero(worth > pending.worth[family.lasts])
    order = better[np.argsort(worth[better], kind="stable")]
    cells = family.lasts[order]
    pending.worth[cells], pending.family[cells], pending.place[cells] = worth[order], number, order
