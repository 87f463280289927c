"""The linear program of one part of the search: its columns, and which arcs each of them takes.

    minimise    sum cost_k x_p
    subject to  sum a_ip x_p >= demand_i               every piece
                least_k <= sum x_p <= most_k           every stick
                least_a <= sum x_p <= most_a           every arc with limits on its flow
                x_p >= 0, and 0 where p is not in the part

One GLOP for all parts: patterns outside are held at 0, arcs without limits are free, so that the basis
survives from part to part. What the patterns known can't meet is bought at a price that only ever rises:
cheap at first, for good duals, and forbidding where the program would rather pay it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from solver.cutting.arcflow.fixing import Worth
from solver.cutting.arcflow.graph import Arc, Arcs, Bits, Lane, Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.pricing.protocol import MOST_VALUE, IntVector
from solver.cutting.problem import Pattern
from solver.lp.glop import FINE_DUALS, Column, LinearProgram, Row, solved_anew
from solver.watch import Watch

FINEST = 2**30
"""Duals are cut into no finer parts than this: a linear program in floats is not more exact."""
LEAST = 1e-8
"""Amounts below this are none."""
Flows = Mapping[Arc, tuple[int, int | None]]
"""Least and most flow on some arcs."""
NumberedUses = tuple[tuple[int, float], ...]
"""How often columns are used, by number."""
CHEAP, FORBIDDING = 3, 10_000
"""What anything missing costs, in times the cost of the dearest stick."""


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
        self._columns: list[list[int]] = [[] for _ in space.lanes]
        self._patterns: list[Pattern] = []
        self._tables = [_Table(lane) for lane in space.lanes]

    def add(self, pattern: Pattern) -> None:
        """Add the next column."""
        n = self._space.lane_of(pattern)
        self._lane.append(n)
        self._patterns.append(pattern)
        counts = np.bincount(pattern.pieces, minlength=len(self._space.demands)).astype(np.int64)
        self._row.append(-1 if n is None else self._tables[n].add(pattern.stick, counts))
        if n is not None:
            self._columns[n].append(len(self._row) - 1)

    def begin(self, root: Node) -> None:
        """Number arcs by the places of a graph that all parts from now on are parts of."""
        for table, arcs in zip(self._tables, root.arcs, strict=True):
            table.begin(arcs.places)

    def uses(self, arc: Arc, first: int = 0) -> list[int]:
        """Return the columns from ``first`` on that take an arc."""
        n, option, position = arc
        numbers = self._columns[n]
        start = bisect_left(numbers, first)
        return [numbers[start + row] for row in self._tables[n].taking(option, position, start).tolist()]

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
        """Take the positions in use, rising, by which arcs are numbered."""
        self._places = places
        self._numbers = self._numbered(self._options, self._positions)

    def _numbered(self, options: IntVector, positions: IntVector) -> IntVector:
        """Return the numbers of arcs; one past all others where the position is no place of the graph."""
        places = np.minimum(np.searchsorted(self._places, positions), len(self._places) - 1)
        known = self._places[places] == positions
        return np.where(known, options * len(self._places) + places, len(self._takes) * len(self._places))

    def add(self, stick: int, counts: IntVector) -> int:
        """Add the path of a proper pattern of this lane, ``counts[i]`` of piece ``i``, and return its row."""
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

    def taking(self, option: int, position: int, first: int) -> NDArray[np.intp]:
        """Return the rows from ``first`` on, counted from there, of the paths that take an arc."""
        rows = slice(first, self._rows)
        same = (self._options[rows] == option) & (self._positions[rows] == position)
        return np.flatnonzero(same.any(axis=1))

    def inside(self, arcs: Arcs) -> Bits:
        """Say of each row whether its path is among the arcs left."""
        left = np.zeros(len(self._takes) * len(self._places) + 1, np.bool_)
        names = np.searchsorted(self._places, arcs.places)
        for r, places in enumerate((*arcs.tails, *arcs.ends)):
            left[r * len(self._places) + names[places]] = True
        taken = left[self._numbers[: self._rows]]
        return np.asarray(taken.all(axis=1))

    def flow(self, uses: list[tuple[int, float]]) -> tuple[IntVector, IntVector, NDArray[np.float64]]:
        """Return option, position and flow of each arc that these rows, so often used, take; one entry an arc."""
        rows, amounts = [row for row, _ in uses], [amount for _, amount in uses]
        numbers, places = np.unique(self._numbers[rows], return_inverse=True)
        flow = np.bincount(places.ravel(), np.repeat(np.array(amounts), self._numbers.shape[1]))
        options = numbers // len(self._places)
        takes = self._takes[options]
        return options[takes], self._places[numbers % len(self._places)][takes], flow[takes]


@dataclass(frozen=True, slots=True)
class Point:
    """A solution: its value, its duals, and whether something is missing."""

    value: float
    worth: Worth
    missing: bool


class Master:
    """Columns by number, in the order they came."""

    def __init__(self, space: Space) -> None:
        """Start with the given patterns, whatever else is to be had at a price."""
        self.patterns: list[Pattern] = []
        self._space = space
        self._known: dict[Pattern, int] = {}
        self._program = LinearProgram(dual_tolerance=FINE_DUALS)
        self._pieces = [self._program.row(demand) for demand in space.demands]
        self._sticks = [self._program.row(0) for _ in space.costs]
        self._flows: dict[Arc, Row] = {}
        self._columns: list[Column] = []
        self._shut: list[bool] = []
        self.routes = Routes(space)
        self._missing = [self._missing_column(row) for row in (*self._pieces, *self._sticks)]
        self._dearest, self._price = max(1, *space.costs[: space.reduced.priced]), 0.0
        self.price_missing(forbidding=False)
        self.add(space.reduced.given)

    def _missing_column(self, row: Row) -> Column:
        variable = self._program.column(0)
        row.SetCoefficient(variable, 1)
        return variable

    def price_missing(self, *, forbidding: bool) -> bool:
        """Set what anything missing costs, and return whether that is something new."""
        price = float((FORBIDDING if forbidding else CHEAP) * self._dearest)
        changed, self._price = price != self._price, price
        for variable in self._missing if changed else ():
            self._program.price(variable, price)
        return changed

    def add(self, patterns: Iterable[Pattern]) -> int:
        """Add those patterns that are new, and return how many were."""
        before = len(self.patterns)
        for pattern in patterns:
            if pattern not in self._known:
                self._known[pattern] = len(self.patterns)
                self._add(pattern)
        fresh = range(before, len(self.patterns))
        for arc, row in self._flows.items() if fresh else ():
            for number in self.routes.uses(arc, before):
                row.SetCoefficient(self._columns[number], 1)
        return len(fresh)

    def _add(self, pattern: Pattern) -> None:
        variable = self._program.column(self._space.reduced.problem.cost(pattern))
        self._sticks[pattern.stick].SetCoefficient(variable, 1)
        for i in set(pattern.pieces):
            self._pieces[i].SetCoefficient(variable, pattern.pieces.count(i))
        self.patterns.append(pattern)
        self._columns.append(variable)
        self._shut.append(False)
        self.routes.add(pattern)

    def release(self) -> None:
        """Make the program that of all patterns, with no more limits than the sticks have."""
        self._open([True] * len(self._shut))
        self._count(Counts.of(self._space.reduced.problem.sticks))
        for row in self._flows.values():
            row.SetBounds(0, inf)

    def restrict(self, node: Node) -> None:
        """Make the program that of one part."""
        self._open(self.routes.inside(node))
        self._count(node.counts)
        for arc in node.flows:
            self._flow_row(arc)
        for arc, row in self._flows.items():
            low, high = node.flows.get(arc, (0, None))
            row.SetBounds(low, inf if high is None else high)

    def _open(self, inside: Sequence[bool]) -> None:
        for number, (now, shut) in enumerate(zip(inside, self._shut, strict=True)):
            if now == shut:
                self._columns[number].SetUb(inf if now else 0.0)
                self._shut[number] = not now

    def _count(self, counts: Counts) -> None:
        for row, least, most in zip(self._sticks, counts.least, counts.most, strict=True):
            row.SetBounds(least, inf if most is None else most)

    def _flow_row(self, arc: Arc) -> None:
        if arc not in self._flows:
            row = self._flows[arc] = self._program.row(0)
            self._missing.append(self._missing_column(row))
            self._program.price(self._missing[-1], self._price)
            for number in self.routes.uses(arc):
                row.SetCoefficient(self._columns[number], 1)

    def demand(self, amounts: Sequence[float]) -> None:
        """Set how much of each piece is wanted."""
        for row, amount in zip(self._pieces, amounts, strict=True):
            row.SetLb(float(amount))

    def solve(self, flows: Flows, watch: Watch) -> Point | None:
        """Return the best point for ``flows``, those of the part restricted to; None if there is none, or stopped."""
        if not solved_anew(lambda: self._program.optimal(watch), lambda: self._write_anew(watch)):
            return None
        missing = any(variable.solution_value() > LEAST for variable in self._missing)
        return Point(self._program.value, self._worth(flows), missing)

    def _write_anew(self, watch: Watch) -> None:
        if watch.stopped:
            return
        rows, columns = self._program.written_anew(
            (*self._pieces, *self._sticks, *self._flows.values()), (*self._missing, *self._columns)
        )
        pieces, sticks = len(self._pieces), len(self._pieces) + len(self._sticks)
        self._pieces, self._sticks = rows[:pieces], rows[pieces:sticks]
        self._flows = dict(zip(self._flows, rows[sticks:], strict=True))
        missing = len(self._missing)
        self._missing, self._columns = columns[:missing], columns[missing:]

    def uses(self) -> NumberedUses:
        """Return the patterns used at the point last found."""
        open_ones = ((number, column) for number, column in enumerate(self._columns) if not self._shut[number])
        amounts = ((number, float(column.solution_value())) for number, column in open_ones)
        return tuple((number, amount) for number, amount in amounts if amount > LEAST)

    def _worth(self, flows: Flows) -> Worth:
        """Return the duals, cut into parts as fine as the pricing's numbers allow."""
        duals = np.maximum(0.0, [row.dual_value() for row in self._pieces])
        problem = self._space.reduced.problem
        longest = max(stick.length for stick in problem.sticks)
        densest = max(dual / piece.length for dual, piece in zip(duals, problem.pieces, strict=True))
        scale = max(1, min(FINEST, int(MOST_VALUE / max(1e-9, 2 * densest * longest, *self._space.costs))))
        values = np.floor(duals * scale).astype(np.int64)
        charges = tuple(int(-row.dual_value() * scale) for row in self._sticks)
        rows = ((arc, int(self._flows[arc].dual_value() * scale)) for arc in flows)
        arcs = {arc: amount for arc, amount in rows if amount and (amount > 0 or flows[arc][1] is not None)}
        return Worth(scale, values, charges, arcs)
