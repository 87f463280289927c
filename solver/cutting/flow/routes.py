"""Which arcs each column of the linear program takes, so that columns follow the arcs that are left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.flow.graph import Arcs, Bits, Lane
from solver.cutting.flow.node import Arc, Node, Space
from solver.cutting.pricing import IntVector
from solver.cutting.problem import Pattern


@dataclass(frozen=True, slots=True)
class Flow:
    """How much flow some arcs carry: ``arcs[n]`` carries ``amounts[n]``; no arc takes none of a piece."""

    arcs: tuple[Arc, ...]
    amounts: NDArray[np.float64]


class Routes:
    """Columns by number, in the order they came; given patterns take no arcs.

    Arcs of a lane are numbered ``option * size + position``; where a path ends comes after, as though
    the lane's sticks were further options.
    """

    def __init__(self, space: Space) -> None:
        """Start without columns."""
        self._space = space
        self._lane: list[int | None] = []
        self._row: list[int] = []
        self._patterns: list[Pattern] = []
        self._tables = [_Table(lane) for lane in space.lanes]

    def add(self, pattern: Pattern) -> None:
        """Add the next column."""
        n = self._space.lane_of(pattern)
        self._lane.append(n)
        self._patterns.append(pattern)
        counts = np.bincount(pattern.pieces, minlength=len(self._space.demands)).astype(np.int64)
        self._row.append(-1 if n is None else self._tables[n].add(pattern.stick, counts))

    def uses(self, arc: Arc) -> list[int]:
        """Return the columns that take an arc."""
        n, option, position = arc
        rows = set(self._tables[n].taking(option * self._space.lanes[n].size + position).tolist())
        return [number for number, lane in enumerate(self._lane) if lane == n and self._row[number] in rows]

    def inside(self, node: Node) -> list[bool]:
        """Say which columns are in a part."""
        inside = [table.inside(arcs) for table, arcs in zip(self._tables, node.arcs, strict=True)]
        given = set(node.given)
        return [
            pattern in given if n is None else bool(inside[n][row])
            for n, row, pattern in zip(self._lane, self._row, self._patterns, strict=True)
        ]

    def flow(self, uses: Iterable[tuple[int, float]]) -> Flow:
        """Return the flow of columns used so often, on the arcs that take a piece."""
        arcs: list[Arc] = []
        amounts: list[NDArray[np.float64]] = []
        used = list(uses)
        for n, (lane, table) in enumerate(zip(self._space.lanes, self._tables, strict=True)):
            here = [(self._row[number], amount) for number, amount in used if self._lane[number] == n]
            if here:
                numbers, flow = table.flow(here)
                arcs += [(n, int(number) // lane.size, int(number) % lane.size) for number in numbers]
                amounts.append(flow)
        return Flow(tuple(arcs), np.concatenate([np.empty(0), *amounts]))


class _Table:
    """The arcs of one lane's columns, a row each."""

    def __init__(self, lane: Lane) -> None:
        self._lane = lane
        self._arcs = np.zeros((256, len(lane.layers) + 1), np.int64)
        self._rows = 0
        self._heads = sum(lane.ends)
        self._starts = np.array([layer.start for layer in lane.layers], np.int64)
        self._pieces = np.array([lane.options[layer.start].piece for layer in lane.layers], np.int64)
        self._shifts = np.array([option.shift for option in lane.options], np.int64)
        self._takes = np.array([option.copies > 0 for option in lane.options] + [False] * len(lane.sticks))

    def add(self, stick: int, counts: IntVector) -> int:
        """Add the path of a proper pattern of this lane, ``counts`` of each piece, and return its row."""
        if self._rows == len(self._arcs):
            self._arcs = np.concatenate([self._arcs, np.zeros_like(self._arcs)])
        options = self._starts + counts[self._pieces]
        options[: self._heads] = [self._head(layer, counts) for layer in self._lane.layers[: self._heads]]
        at = np.cumsum(self._shifts[options])
        row = self._arcs[self._rows]
        row[:-1] = options * self._lane.size + at - self._shifts[options]
        row[-1] = (len(self._lane.options) + self._lane.sticks.index(stick)) * self._lane.size + at[-1]
        self._rows += 1
        return self._rows - 1

    def _head(self, layer: range, counts: IntVector) -> int:
        return next(r for r in layer if counts[self._lane.options[r].piece])

    def taking(self, number: int) -> NDArray[np.intp]:
        return np.flatnonzero((self._arcs[: self._rows] == number).any(axis=1))

    def inside(self, arcs: Arcs) -> Bits:
        size = self._lane.size
        left = np.zeros(len(self._takes) * size, np.bool_)
        for r, places in enumerate((*arcs.tails, *arcs.ends)):
            left[r * size + arcs.places[places]] = True
        taken = left[self._arcs[: self._rows]]
        return np.asarray(taken.all(axis=1))

    def flow(self, uses: list[tuple[int, float]]) -> tuple[IntVector, NDArray[np.float64]]:
        rows, amounts = [row for row, _ in uses], [amount for _, amount in uses]
        numbers, places = np.unique(self._arcs[rows], return_inverse=True)
        weights = np.repeat(np.array(amounts), self._arcs.shape[1])
        flow = np.bincount(places.ravel(), weights)
        takes = self._takes[numbers // self._lane.size]
        return numbers[takes], flow[takes]
