"""A week as one integer program, stick by stick and day by day, solved by HiGHS (tests only).

It knows no patterns: every stick that could be bought or lies on the rack has its own variables.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import highspy
import numpy as np

from solver.materials import Material
from solver.required import Meets, Required
from solver.weekly.week import Week

DAYS = 7


@dataclass(frozen=True, slots=True)
class Stick:
    """One stick that may be cut, its cost in cents, and the first day it can be cut."""

    length: int
    cost: int
    left: bool
    right: bool
    first: int


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces alike on one day."""

    length: int
    demand: int
    left: bool
    right: bool
    day: int


class Program:
    """Rows and columns of the program, to be solved for the bill and then for what is carried."""

    def __init__(self, week: Week) -> None:
        self.highs = highspy.Highs()  # type: ignore[no-untyped-call]
        self.highs.setOptionValue("output_flag", False)
        self.highs.setOptionValue("mip_rel_gap", 0.0)
        self.bill: list[tuple[int, int]] = []
        self.carried: list[tuple[int, int]] = []
        self.columns = 0
        nights: list[list[int]] = [[] for _ in range(DAYS)]
        for self.material in week.materials:
            self.kinds = list(_kinds(week, self.material))
            self._of_one_material(week, nights)
        for columns in nights:
            if week.limits.carry is not None:
                self.row(-highspy.kHighsInf, week.limits.carry, [(column, 1) for column in columns])

    def _of_one_material(self, week: Week, nights: list[list[int]]) -> None:
        cut: list[list[int]] = [[] for _ in self.kinds]
        before: tuple[Stick, int] | None = None
        for stick in _sticks(week, self.material, sum(kind.demand for kind in self.kinds)):
            used = self._stick(stick, nights, cut)
            if before and before[0] == stick:
                # of sticks alike the first are used, lest every order of them be tried
                self.row(0, highspy.kHighsInf, [(before[1], 1), (used, -1)])
            before = stick, used
        for kind, columns in zip(self.kinds, cut, strict=True):
            self.row(kind.demand, kind.demand, [(column, 1) for column in columns])

    def column(self, most: int) -> int:
        """Add a whole number from 0 to ``most``."""
        self.highs.addVar(0, most)
        self.highs.changeColIntegrality(self.columns, highspy.HighsVarType.kInteger)
        self.columns += 1
        return self.columns - 1

    def row(self, low: float, high: float, terms: list[tuple[int, int]]) -> None:
        """Add a row over columns with coefficients."""
        indices, values = np.array([c for c, _ in terms], np.int32), np.array([v for _, v in terms], float)
        self.highs.addRow(low, high, len(terms), indices, values)

    def least(self, terms: list[tuple[int, int]]) -> int:
        """Return the least of a sum, and keep it from now on."""
        for column in range(self.columns):
            self.highs.changeColCost(column, 0.0)
        for column, weight in terms:
            self.highs.changeColCost(column, weight)
        self.highs.run()
        assert self.highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        value = round(self.highs.getInfo().objective_function_value)
        self.row(-highspy.kHighsInf, value, terms)
        return value

    def _stick(self, stick: Stick, nights: list[list[int]], cut: list[list[int]]) -> int:
        """State what may be cut of a stick, and return the column that says whether it is used."""
        infinity, kerf = highspy.kHighsInf, self.material.settings.kerf
        shortest = max(1, self.material.settings.keep_offcuts_from)
        used = self.column(1)
        on = [self.column(1) for _ in range(DAYS)]
        pieces = [self.column(kind.demand if kind.day >= stick.first else 0) for kind in self.kinds]
        takes = [(column, kind.length + kerf) for column, kind in zip(pieces, self.kinds, strict=True)]
        self.row(-infinity, 0, [*takes, (used, -stick.length - kerf)])
        for place, (column, kind) in enumerate(zip(pieces, self.kinds, strict=True)):
            cut[place].append(column)
            self.row(-infinity, 0, [(column, 1), (on[kind.day], -kind.demand)])
        for day in range(DAYS):
            # a day counts as one of cutting only if a piece is cut on it
            self.row(
                -infinity,
                0,
                [(on[day], 1), *[(c, -1) for c, k in zip(pieces, self.kinds, strict=True) if k.day == day]],
            )
        self.row(-infinity, 0, [(used, 1), *[(column, -1) for column in on]])
        for end in ("left", "right"):
            needing = [(c, 1) for c, kind in zip(pieces, self.kinds, strict=True) if getattr(kind, end)]
            if needing:
                self.row(-infinity, int(getattr(stick, end)), needing)
        for day in range(DAYS - 1):
            self._night(stick, day, shortest, on, pieces, nights)
        self.bill.append((used, stick.cost))
        self.carried += [(used, -1), *[(column, 1) for column in on]]
        return used

    def _night(
        self, stick: Stick, day: int, shortest: int, on: list[int], pieces: list[int], nights: list[list[int]]
    ) -> None:
        """State what holds where the stick is cut on this day or before, and again on a later one."""
        infinity, kerf = highspy.kHighsInf, self.material.settings.kerf
        carried = self.column(1)
        nights[day].append(carried)
        for early in range(day + 1):
            for late in range(day + 1, DAYS):
                self.row(-infinity, 1, [(on[early], 1), (on[late], 1), (carried, -1)])
        by_then = [(c, k.length + kerf) for c, k in zip(pieces, self.kinds, strict=True) if k.day <= day]
        slack = stick.length + 10 * kerf + shortest
        self.row(-infinity, stick.length - shortest + slack, [*by_then, (carried, slack)])
        later = [(c, 1) for c, k in zip(pieces, self.kinds, strict=True) if k.day > day and (k.left or k.right)]
        # a stick that has been cut has one factory end at most
        self.row(-infinity, 2, [(on[day], 1), *later])


def least_bill(week: Week) -> tuple[Decimal, int]:
    """Return the least bill of a week, and the fewest offcuts carried at that bill."""
    program = Program(week)
    cents = program.least(program.bill)
    return Decimal(cents) / 100, program.least(program.carried)


def _kinds(week: Week, material: Material) -> Iterator[Kind]:
    for job in week.jobs:
        for item in (item for item in job.required if item.material == material.id):
            ends = item.left_end.meets is Meets.LAP, item.right_end.meets is Meets.LAP
            yield Kind(_length(item, material), item.quantity, *ends, week.day(job.date))


def _length(item: Required, material: Material) -> int:
    laps = [item.left_end.meets, item.right_end.meets].count(Meets.LAP)
    return item.length + laps * (material.settings.lap or 0)


def _sticks(week: Week, material: Material, most: int) -> Iterator[Stick]:
    first = min(week.day(delivery.date) for delivery in week.deliveries)
    for row in material.stock:
        for _ in range(most):
            yield Stick(row.length, int((row.price or 0) * 100), True, True, first)
    for offcut in (offcut for offcut in week.rack if offcut.material == material.id):
        yield Stick(offcut.length, 0, offcut.factory_end.has_left, offcut.factory_end.has_right, 0)
