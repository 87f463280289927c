"""Which arcs each column of the linear program takes, so that columns follow the arcs that are left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.flow.graph import Arc, Arcs, Bits, Lane
from solver.cutting.flow.node import Node, Space
from solver.cutting.pricing import IntVector
from solver.cutting.problem import Pattern


@dataclass(frozen=True, slots=True)
class Flow:
    """How much flow some arcs carry: ``arcs[n]`` carries ``amounts[n]``; no arc takes none of a piece."""

    arcs: tuple[Arc, ...]
    amounts: NDArray[np.float64]


class Routes:
    """Columns by number, in the order they came; given patterns take no arcs.

    Arcs of a lane are numbered by option and place among those of the graph last begun with; where a
    path ends comes after, as though the lane's sticks were further options.
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

    def begin(self, root: Node) -> None:
        """Number arcs by the places of a graph that all parts from now on are parts of."""
        for table, arcs in zip(self._tables, root.arcs, strict=True):
            table.begin(arcs.places)

    def uses(self, arc: Arc) -> list[int]:
        """Return the columns that take an arc."""
        n, option, position = arc
        rows = set(self._tables[n].taking(option, position).tolist())
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
        for n, table in enumerate(self._tables):
            here = [(self._row[number], amount) for number, amount in used if self._lane[number] == n]
            if here:
                options, positions, flow = table.flow(here)
                arcs += [(n, r, at) for r, at in zip(options.tolist(), positions.tolist(), strict=True)]
                amounts.append(flow)
        return Flow(tuple(arcs), np.concatenate([np.empty(0), *amounts]))


class _Table:
    """The arcs of one lane's columns, a row each: options, positions, and the numbers these have now."""

    def __init__(self, lane: Lane) -> None:
        self._lane = lane
        self._places = np.zeros(1, np.int64)
        width = len(lane.layers) + 1
        self._options, self._positions, self._numbers = (np.zeros((256, width), np.int64) for _ in range(3))
        self._rows = 0
        self._heads = sum(lane.ends)
        self._starts = np.array([layer.start for layer in lane.layers], np.int64)
        self._pieces = np.array([lane.options[layer.start].piece for layer in lane.layers], np.int64)
        self._shifts = np.array([option.shift for option in lane.options], np.int64)
        self._takes = np.array([option.copies > 0 for option in lane.options] + [False] * len(lane.sticks))

    def begin(self, places: IntVector) -> None:
        self._places = places
        self._numbers = self._numbered(self._options, self._positions)

    def _numbered(self, options: IntVector, positions: IntVector) -> IntVector:
        """Return the numbers of arcs; one past all others where the position is no place of the graph."""
        places = np.minimum(np.searchsorted(self._places, positions), len(self._places) - 1)
        known = self._places[places] == positions
        return np.where(known, options * len(self._places) + places, len(self._takes) * len(self._places))

    def add(self, stick: int, counts: IntVector) -> int:
        """Add the path of a proper pattern of this lane, ``counts`` of each piece, and return its row."""
        if self._rows == len(self._options):
            self._options = np.concatenate([self._options, np.zeros_like(self._options)])
            self._positions = np.concatenate([self._positions, np.zeros_like(self._positions)])
            self._numbers = np.concatenate([self._numbers, np.zeros_like(self._numbers)])
        options = self._starts + counts[self._pieces]
        options[: self._heads] = [self._head(layer, counts) for layer in self._lane.layers[: self._heads]]
        row = self._rows
        self._options[row] = [*options, len(self._lane.options) + self._lane.sticks.index(stick)]
        self._positions[row, 1:] = np.cumsum(self._shifts[options])
        self._numbers[row] = self._numbered(self._options[row], self._positions[row])
        self._rows += 1
        return row

    def _head(self, layer: range, counts: IntVector) -> int:
        return next(r for r in layer if counts[self._lane.options[r].piece])

    def taking(self, option: int, position: int) -> NDArray[np.intp]:
        same = (self._options[: self._rows] == option) & (self._positions[: self._rows] == position)
        return np.flatnonzero(same.any(axis=1))

    def inside(self, arcs: Arcs) -> Bits:
        left = np.zeros(len(self._takes) * len(self._places) + 1, np.bool_)
        names = np.searchsorted(self._places, arcs.places)
        for r, places in enumerate((*arcs.tails, *arcs.ends)):
            left[r * len(self._places) + names[places]] = True
        taken = left[self._numbers[: self._rows]]
        return np.asarray(taken.all(axis=1))

    def flow(self, uses: list[tuple[int, float]]) -> tuple[IntVector, IntVector, NDArray[np.float64]]:
        rows, amounts = [row for row, _ in uses], [amount for _, amount in uses]
        numbers, places = np.unique(self._numbers[rows], return_inverse=True)
        flow = np.bincount(places.ravel(), np.repeat(np.array(amounts), self._numbers.shape[1]))
        options = numbers // len(self._places)
        takes = self._takes[options]
        return options[takes], self._places[numbers % len(self._places)][takes], flow[takes]
