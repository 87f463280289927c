"""The linear program over splits and cuts: GLOP, with slot rows at knots, grown column by column."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, floor

import numpy as np

from solver.laps.columns import NONE, Classes, Cut, Split, kinds_of
from solver.laps.knots import Knots
from solver.laps.prices import Floats, width
from solver.laps.site import Site
from solver.laps.valuing import Values
from solver.lp.glop import Column, LinearProgram, Row, solved_anew

DEAREST = 100.0
"""Costs are handed to GLOP with the dearest stick at this, well inside its tolerances."""


class Unsolved(Exception):
    """GLOP gave no optimum: numbers it can't handle. Whoever asked goes on without a better bound."""


@dataclass(slots=True)
class _Slots:
    """One set of sticks on one side: its knots, their rows, and (variable, number, cells, sign) of each slot."""

    knots: Knots
    rows: dict[int, Row] = field(default_factory=dict)
    taken: list[tuple[Column, int, int, int]] = field(default_factory=list)

    def count(self, variable: Column, cells: int, sign: float) -> None:
        """Add a slot to the rows of its knots."""
        for at, share in self.knots.parts(cells):
            row = self.rows[at]
            row.SetCoefficient(variable, row.GetCoefficient(variable) + sign * share)


class Master:
    """Cover every class and plain piece at least cost by the columns so far."""

    def __init__(self, site: Site, classes: Classes, apart: int) -> None:
        """``apart`` is the distance of the first knots in cells."""
        self._site, self._classes = site, classes
        self._unit = max(stick.cost for stick in site.problem.sticks) / DEAREST
        self.columns: dict[Cut | Split, Column] = {}
        self._used = np.zeros(0)
        top, shortest = width(site), classes.shortest
        self._knots = [[Knots(min(shortest, top), top, apart) for _ in side] for side in site.sides]
        self._build()

    def _build(self) -> None:
        self._program = LinearProgram()
        pieces, sticks = self._site.problem.pieces, self._site.problem.sticks
        self._wanted = [self._program.row(n) for n in self._classes.demand]
        self._plain = [self._program.row(pieces[i].demand) for i in self._site.plain]
        limits = {k: stick.limit for k, stick in enumerate(sticks) if stick.limit is not None}
        self._limits = {k: self._program.row(-limit) for k, limit in limits.items()}
        self._slots = [[self._begin(knots) for knots in side] for side in self._knots]
        columns, self.columns = self.columns, {}
        for column in columns:
            self.add(column)

    def _begin(self, knots: Knots) -> _Slots:
        slots = _Slots(knots, {at: self._program.row(0) for at in knots.at})
        for low, high in pairwise(knots.at):
            self._serve(slots.rows[high], slots.rows[low])
        return slots

    def _serve(self, longer: Row, shorter: Row) -> None:
        """Let a longer slot serve for a shorter one."""
        variable = self._program.column(0)
        longer.SetCoefficient(variable, -1)
        shorter.SetCoefficient(variable, 1)

    def add(self, column: Cut | Split) -> bool:
        """Take a column in; return whether it is new."""
        if column in self.columns:
            return False
        variable = self._program.column(0)
        self.columns[column] = variable
        sign = 1 if isinstance(column, Cut) else -1
        self._fill(variable, column)
        for side, (number, cells) in enumerate(((column.first, column.first_cells), (column.last, column.last_cells))):
            if number != NONE:
                slots = self._slots[side][number]
                slots.taken.append((variable, variable.index(), cells, sign))
                slots.count(variable, cells, sign)
        return True

    def _fill(self, variable: Column, column: Cut | Split) -> None:
        kinds = kinds_of(column)
        cost = sum(self._site.problem.sticks[k].cost * n for k, n in kinds.items())
        self._program.price(variable, cost / self._unit)
        for kind, n in kinds.items():
            if kind in self._limits:
                self._limits[kind].SetCoefficient(variable, -n)
        if isinstance(column, Split):
            self._wanted[column.alike].SetCoefficient(variable, 1)
        else:
            for piece, n in Counter(column.plain).items():
                self._plain[piece].SetCoefficient(variable, n)

    def solve(self) -> float:
        """Return the least cost by the columns so far. Raises ``Unsolved``."""
        if not solved_anew(self._program.solved, self._build):
            raise Unsolved
        self._used = self._program.amounts
        return self._program.value * float(self._unit)

    def values(self, scale: int) -> Values:
        """Return the duals of the last solution as whole numbers, rounded the safe way."""
        unit = scale * self._unit

        def worth(row: Row) -> float:
            return max(0.0, float(row.dual_value()) * unit)

        first, last = (
            tuple(
                np.floor(slots.knots.line([worth(slots.rows[at]) for at in slots.knots.at])).astype(np.int64)
                for slots in side
            )
            for side in self._slots
        )
        plain = np.array([floor(worth(row)) for row in self._plain], np.int64)
        used = {k: ceil(worth(row)) for k, row in self._limits.items()}
        return Values((first, last), plain, used, scale)

    def refine(self, most: int) -> int:
        """Make knots where the last solution takes more slots than it gives; return how many."""
        places = [
            (slots, cells)
            for side in self._slots
            for slots in side
            for cells in slots.knots.most_wanting(self._balance(slots), most)
        ]
        for slots, cells in places:
            self._part(slots, cells)
        return len(places)

    def _balance(self, slots: _Slots) -> Floats:
        _, numbers, cells, signs = zip(*slots.taken, strict=True) if slots.taken else ((), (), (), ())
        known = np.array(numbers, np.int64) < len(self._used)
        used = self._used[np.array(numbers, np.int64)[known]] * np.array(signs, np.float64)[known]
        return np.bincount(np.array(cells, np.int64)[known], used, width(self._site) + 1).astype(np.float64)

    def _part(self, slots: _Slots, cells: int) -> None:
        """Make a length a knot; slots between its neighbours count for it from now on."""
        below, above = slots.knots.about(cells)
        between = [taken for taken in slots.taken if below < taken[2] < above]
        for variable, _, size, sign in between:
            slots.count(variable, size, -sign)
        slots.knots.add(cells)
        slots.rows[cells] = self._program.row(0)
        for variable, _, size, sign in between:
            slots.count(variable, size, sign)
        self._serve(slots.rows[above], slots.rows[cells])
        self._serve(slots.rows[cells], slots.rows[below])
