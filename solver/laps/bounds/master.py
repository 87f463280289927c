"""The linear program over run and stick columns: GLOP, with slot rows at breakpoints, grown column by column.

One row for every length of slot would make thousands of rows. Here rows stand only at breakpoints: a slot between two
of them counts partly for each, so its value is what the straight line between theirs says (piecewise linear duals).
That only narrows the choice of values, so every bound proved with them holds. Where the program's answer takes more
slots above a length than it gives, that length becomes a breakpoint.

The program asks for least cost, or for as few sticks as can be beyond numbers given: where some are needed, its values
show that the numbers do for no plan.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, floor, inf

import numpy as np

from solver.laps.bounds.columns import NONE, RunClasses, RunColumn, StickColumn, kinds_of, lap_count
from solver.laps.bounds.dual_values import DualValues
from solver.laps.model import Floats, LapModel
from solver.lp.glop import Column, LinearProgram, Row, solved_anew

DEAREST = 100.0
"""Costs are handed to GLOP with the dearest stick at this, well inside its tolerances."""


class Unsolved(Exception):
    """GLOP gave no optimum: numbers it can't handle. Whoever asked goes on without a better bound."""


@dataclass(slots=True)
class _Slots:
    """One set of sticks on one side: its breakpoints, their rows, and (variable, number, cells, sign) of each slot."""

    breakpoints: Breakpoints
    rows: dict[int, Row] = field(default_factory=dict)
    taken: list[tuple[Column, int, int, int]] = field(default_factory=list)

    def count(self, variable: Column, cells: int, sign: float) -> None:
        """Add a slot to the rows of its breakpoints."""
        for at, share in self.breakpoints.parts(cells):
            row = self.rows[at]
            row.SetCoefficient(variable, row.GetCoefficient(variable) + sign * share)


class Master:
    """Cover every class and plain piece at least cost by the columns so far."""

    def __init__(self, model: LapModel, classes: RunClasses, apart: int) -> None:
        """``apart`` is the distance of the first breakpoints in cells."""
        self._model, self._classes = model, classes
        self._unit = max(stick.cost for stick in model.problem.sticks) / DEAREST
        self.columns: dict[StickColumn | RunColumn, Column] = {}
        self._used = np.zeros(0)
        self._numbers: Sequence[int] | None = None
        top, shortest = model.width, classes.shortest
        self._breakpoints = [[Breakpoints(min(shortest, top), top, apart) for _ in side] for side in model.sides]
        self._build()

    def _build(self) -> None:
        self._program = LinearProgram()
        pieces, sticks = self._model.problem.pieces, self._model.problem.sticks
        self._wanted = [self._program.row(n) for n in self._classes.demand]
        self._plain = [self._program.row(pieces[i].demand) for i in self._model.plain]
        self._laps = [self._program.row(least) for _, least in self._classes.laps]
        self._limits = [self._program.row(0) for _ in sticks]
        self._beyond = [self._program.column(0) for _ in sticks]
        for row, beyond in zip(self._limits, self._beyond, strict=True):
            row.SetCoefficient(beyond, 1)
        self._slots = [[self._begin(breakpoints) for breakpoints in side] for side in self._breakpoints]
        columns, self.columns = self.columns, {}
        for column in columns:
            self.add(column)
        self.ask(self._numbers)

    def ask(self, numbers: Sequence[int] | None) -> None:
        """Ask for the fewest sticks beyond these numbers, each counted at its cost; None: for the least cost."""
        self._numbers = numbers
        for k, stick in enumerate(self._model.problem.sticks):
            most = stick.limit if numbers is None else numbers[k]
            self._limits[k].SetLb(-inf if most is None else -most)
            self._beyond[k].SetUb(0.0 if numbers is None else inf)
            self._program.price(self._beyond[k], stick.cost / self._unit)
        for column, variable in self.columns.items():
            self._program.price(variable, self._cost(column))

    def _cost(self, column: StickColumn | RunColumn) -> float:
        if self._numbers is not None:
            return 0.0
        return sum(self._model.problem.sticks[k].cost * n for k, n in kinds_of(column).items()) / self._unit

    def _begin(self, breakpoints: Breakpoints) -> _Slots:
        slots = _Slots(breakpoints, {at: self._program.row(0) for at in breakpoints.at})
        for low, high in pairwise(breakpoints.at):
            self._serve(slots.rows[high], slots.rows[low])
        return slots

    def _serve(self, longer: Row, shorter: Row) -> None:
        """Let a longer slot serve for a shorter one."""
        variable = self._program.column(0)
        longer.SetCoefficient(variable, -1)
        shorter.SetCoefficient(variable, 1)

    def add(self, column: StickColumn | RunColumn) -> bool:
        """Take a column in; return whether it is new."""
        if column in self.columns:
            return False
        variable = self._program.column(0)
        self.columns[column] = variable
        sign = 1 if isinstance(column, StickColumn) else -1
        self._fill(variable, column)
        for side, (number, cells) in enumerate(((column.first, column.first_cells), (column.last, column.last_cells))):
            if number != NONE:
                slots = self._slots[side][number]
                slots.taken.append((variable, variable.index(), cells, sign))
                slots.count(variable, cells, sign)
        return True

    def _fill(self, variable: Column, column: StickColumn | RunColumn) -> None:
        kinds = kinds_of(column)
        self._program.price(variable, self._cost(column))
        for kind, n in kinds.items():
            self._limits[kind].SetCoefficient(variable, -n)
        if isinstance(column, RunColumn):
            self._wanted[column.alike].SetCoefficient(variable, 1)
            for row, (classes, _) in zip(self._laps, self._classes.laps, strict=True):
                if column.alike in classes:
                    row.SetCoefficient(variable, lap_count(column))
        else:
            for piece, n in Counter(column.plain).items():
                self._plain[piece].SetCoefficient(variable, n)

    def solve(self) -> float:
        """Return the least cost by the columns so far. Raises ``Unsolved``."""
        if not solved_anew(self._solved, self._build):
            raise Unsolved
        self._used = self._program.amounts
        return self._program.value * float(self._unit)

    def _solved(self) -> bool:
        """Solve the program as it stands now: one written anew is another one."""
        return self._program.solved()

    def values(self, scale: int) -> DualValues:
        """Return the duals of the last solution as whole numbers, rounded the safe way."""
        unit = scale * self._unit

        def worth(row: Row) -> float:
            return max(0.0, float(row.dual_value()) * unit)

        first, last = (
            tuple(
                np.floor(slots.breakpoints.line([worth(slots.rows[at]) for at in slots.breakpoints.at])).astype(
                    np.int64
                )
                for slots in side
            )
            for side in self._slots
        )
        plain = np.array([floor(worth(row)) for row in self._plain], np.int64)
        asked = [0 if self._numbers is not None else stick.cost * scale for stick in self._model.problem.sticks]
        sticks = np.array([n + ceil(worth(row)) for n, row in zip(asked, self._limits, strict=True)], np.int64)
        return DualValues((first, last), plain, sticks, scale, tuple(floor(worth(row)) for row in self._laps))

    @property
    def places(self) -> tuple[list[list[int]], list[list[int]]]:
        """The breakpoints of each set of slots, by side."""
        first, last = ([breakpoints.at for breakpoints in side] for side in self._breakpoints)
        return first, last

    def refine(self, most: int) -> int:
        """Make breakpoints where the last solution takes more slots than it gives; return how many."""
        places = [
            (slots, cells)
            for side in self._slots
            for slots in side
            for cells in slots.breakpoints.most_wanting(self._balance(slots), most)
        ]
        for slots, cells in places:
            self._part(slots, cells)
        return len(places)

    def _balance(self, slots: _Slots) -> Floats:
        """Return by cells how many slots the last solution gives less those it takes: shape (width + 1,)."""
        _, numbers, cells, signs = zip(*slots.taken, strict=True) if slots.taken else ((), (), (), ())
        known = np.array(numbers, np.int64) < len(self._used)
        used = self._used[np.array(numbers, np.int64)[known]] * np.array(signs, np.float64)[known]
        return np.bincount(np.array(cells, np.int64)[known], used, self._model.width + 1).astype(np.float64)

    def _part(self, slots: _Slots, cells: int) -> None:
        """Make a length a breakpoint; slots between its neighbours count for it from now on."""
        below, above = slots.breakpoints.about(cells)
        between = [taken for taken in slots.taken if below < taken[2] < above]
        for variable, _, size, sign in between:
            slots.count(variable, size, -sign)
        slots.breakpoints.add(cells)
        slots.rows[cells] = self._program.row(0)
        for variable, _, size, sign in between:
            slots.count(variable, size, sign)
        self._serve(slots.rows[above], slots.rows[cells])
        self._serve(slots.rows[cells], slots.rows[below])


class Breakpoints:
    """Breakpoints in cells, ascending, from the shortest slot that is asked for to the longest stick."""

    def __init__(self, low: int, high: int, apart: int) -> None:
        self.at = sorted({*range(low, high, apart), high})

    def parts(self, cells: int) -> tuple[tuple[int, float], ...]:
        """Return the breakpoints that a slot of so many cells counts for, and its shares; none for one too short."""
        place = bisect_left(self.at, cells)
        if self.at[place] == cells:
            return ((cells, 1.0),)
        if not place:
            return ()
        low, high = self.at[place - 1], self.at[place]
        share = (cells - low) / (high - low)
        return (low, 1.0 - share), (high, share)

    def about(self, cells: int) -> tuple[int, int]:
        """Return the breakpoints on both sides of a length that is none."""
        place = bisect_left(self.at, cells)
        return self.at[place - 1], self.at[place]

    def add(self, cells: int) -> None:
        """Make a length a breakpoint."""
        insort(self.at, cells)

    def line(self, values: Iterable[float]) -> Floats:
        """Return the value of 0, 1, ... cells to the last breakpoint, given those of breakpoints; it never falls.

        Shape (last breakpoint + 1,).
        """
        rising = np.maximum.accumulate(np.maximum(0.0, np.array(list(values))))
        found: Floats = np.interp(np.arange(self.at[-1] + 1), self.at, rising)
        found[: self.at[0]] = 0.0
        return found

    def most_wanting(self, balance: Floats, most: int) -> list[int]:
        """Return cells above which slots are most wanting, one between breakpoints at most.

        ``balance`` has shape (width + 1,): by cells.
        """
        above = np.cumsum(balance[::-1])[::-1]
        found = []
        for low, high in pairwise(self.at):
            if high - low > 1:
                place = low + 1 + int(above[low + 1 : high].argmin())
                if above[place] < -1e-6:
                    found.append((float(above[place]), place))
        return [place for _, place in sorted(found)[:most]]
