"""The linear program over splits and cuts: GLOP, with slot rows at knots, grown column by column."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, floor

import numpy as np
from ortools.linear_solver import pywraplp

from solver.laps.columns import NONE, Classes, Cut, Split, kinds_of
from solver.laps.knots import Knots
from solver.laps.prices import Floats, width
from solver.laps.site import Site
from solver.laps.valuing import Values

DEAREST = 100.0
"""Costs are handed to GLOP with the dearest stick at this, well inside its tolerances."""


class Unsolved(Exception):
    """GLOP gave no optimum: numbers it can't handle. Whoever asked goes on without a better bound."""


@dataclass(slots=True)
class _Slots:
    """One set of sticks on one side: its knots, their rows, and (variable, number, cells, sign) of each slot."""

    knots: Knots
    rows: dict[int, pywraplp.Constraint] = field(default_factory=dict)
    taken: list[tuple[pywraplp.Variable, int, int, int]] = field(default_factory=list)

    def count(self, variable: pywraplp.Variable, cells: int, sign: float) -> None:
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
        self._options = pywraplp.MPSolverParameters()
        self._options.SetIntegerParam(self._options.PRESOLVE, self._options.PRESOLVE_OFF)
        self.columns: dict[Cut | Split, pywraplp.Variable] = {}
        self._used = np.zeros(0)
        top, shortest = width(site), classes.shortest
        self._knots = [[Knots(min(shortest, top), top, apart) for _ in side] for side in site.sides]
        self._build()

    def _build(self) -> None:
        """Write the whole program anew: GLOP can lose its footing on an old basis, and has no way to forget it."""
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._infinity = self._solver.infinity()
        pieces, sticks = self._site.problem.pieces, self._site.problem.sticks
        self._wanted = [self._solver.Constraint(n, self._infinity) for n in self._classes.demand]
        self._plain = [self._solver.Constraint(pieces[i].demand, self._infinity) for i in self._site.plain]
        limits = {k: stick.limit for k, stick in enumerate(sticks) if stick.limit is not None}
        self._limits = {k: self._solver.Constraint(-limit, self._infinity) for k, limit in limits.items()}
        self._slots = [[self._begin(knots) for knots in side] for side in self._knots]
        columns, self.columns = self.columns, {}
        for column in columns:
            self.add(column)

    def _begin(self, knots: Knots) -> _Slots:
        slots = _Slots(knots, {at: self._solver.Constraint(0, self._infinity) for at in knots.at})
        for low, high in pairwise(knots.at):
            self._serve(slots.rows[high], slots.rows[low])
        return slots

    def _serve(self, longer: pywraplp.Constraint, shorter: pywraplp.Constraint) -> None:
        """Let a longer slot serve for a shorter one."""
        variable = self._solver.NumVar(0, self._infinity, "")
        longer.SetCoefficient(variable, -1)
        shorter.SetCoefficient(variable, 1)

    def add(self, column: Cut | Split) -> bool:
        """Take a column in; return whether it is new."""
        if column in self.columns:
            return False
        variable = self._solver.NumVar(0, self._infinity, "")
        self.columns[column] = variable
        sign = 1 if isinstance(column, Cut) else -1
        self._fill(variable, column)
        for side, (number, cells) in enumerate(((column.first, column.first_cells), (column.last, column.last_cells))):
            if number != NONE:
                slots = self._slots[side][number]
                slots.taken.append((variable, variable.index(), cells, sign))
                slots.count(variable, cells, sign)
        return True

    def _fill(self, variable: pywraplp.Variable, column: Cut | Split) -> None:
        kinds = kinds_of(column)
        cost = sum(self._site.problem.sticks[k].cost * n for k, n in kinds.items())
        self._solver.Objective().SetCoefficient(variable, cost / self._unit)
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
        if self._solver.Solve(self._options) != pywraplp.Solver.OPTIMAL:
            self._build()
            if self._solver.Solve(self._options) != pywraplp.Solver.OPTIMAL:
                raise Unsolved
        self._used = np.array([variable.solution_value() for variable in self._solver.variables()])
        return float(self._solver.Objective().Value()) * float(self._unit)

    def values(self, scale: int) -> Values:
        """Return the duals of the last solution as whole numbers, rounded the safe way."""
        unit = scale * self._unit

        def worth(row: pywraplp.Constraint) -> float:
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
        slots.rows[cells] = self._solver.Constraint(0, self._infinity)
        for variable, _, size, sign in between:
            slots.count(variable, size, sign)
        self._serve(slots.rows[above], slots.rows[cells])
        self._serve(slots.rows[cells], slots.rows[below])
