"""What a certificate of runs says of the numbers of sticks, worked out again: every cut and every split priced.

A piece of a run has a worth by its length and the stick that it comes from, a plain piece one, and so has every kind of
stick: what the best cut of it is worth, or what the certificate says where that is more. An uncut stick in a run counts
for that of its kind. Then V is what all runs, each made up in its cheapest way, and all pieces are worth together, and
sticks that make a plan satisfy ``sum(n_k * worth_k) >= V`` whatever the worths are.

Lengths count in cells of the certificate's grid. Where the grid divides every length of which the places of cuts are
made, a best plan cuts on it: fix how each run is made up and which stick gives each piece. What is left to choose with
factory ends is the length of each first piece, and every stick's room compares two of them at the most: difference
constraints, whose corners lie on the grid. Where ends don't matter every length is in one sum of a run and in one of a
stick: the matrix is that of a bipartite graph, with corners on the grid as well. On any other grid pieces are rounded
down to cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from solver.categories import LapEnds
from solver.checking.bench import Bench
from solver.checking.knapsack import Ints, Item, Row, TooLargeToCheck, steps_of
from solver.checking.run_ways import Course, Lapped, Way, Ways, cells_of
from solver.checking.runs import most_pieces
from solver.checking.wanted import Supply, Wanted
from solver.proof import EndValues, PieceValue, RunValues
from solver.required import Meets, Side
from solver.runs import BreachCode

LARGEST = 2**44
"""Worths up to this can be summed; the pieces of one stick are thousands at the most."""

MOST_CELLS = 2**13
"""Cells of the longest stick that are gone through."""


@dataclass(frozen=True, slots=True)
class _Worths:
    """One set of values: by side and kind of stick, by cells; of pieces by length and ends; of sticks by kind."""

    right: tuple[Ints, ...]
    left: tuple[Ints, ...]
    anywhere: Ints
    pieces: dict[tuple[int, bool, bool], int]
    sticks: tuple[int, ...]


class RunRows:
    """Works out the rows of one plan's certificate."""

    def __init__(self, bench: Bench, supplies: Sequence[Supply], pieces: Sequence[Wanted]) -> None:
        """``pieces`` are those that some stick can yield. Raises TooLargeToCheck where a certificate is none."""
        self._bench, self._supplies, self._pieces = bench, supplies, pieces
        self._kerf, self._grid = bench.material.settings.kerf, bench.plan.proof.grid or 0
        if self._grid < 1 or self._cells(max(s.length for s in supplies)) > MOST_CELLS:
            raise TooLargeToCheck("a grid too fine")
        self._ways = Ways(bench, supplies, strict=not _breaks_rules(bench))
        self._factory = bench.material.settings.lap_ends is LapEnds.FACTORY
        self._courses = self._ways.courses()
        if any(course.wanted.required.room for course in self._courses):
            raise TooLargeToCheck("runs with room")
        groups = self._groups()
        self._made = [list(self._ways.of(course, groups)) if self._factory else [] for course in self._courses]
        self._exact = self._ways.divisor(way for made in self._made for way in made) % self._grid == 0
        self._exact = self._exact and all(total % self._grid == 0 for total in self._sums())
        self._split = [
            [(way, *cells_of(way, self._grid, self._kerf, exact=self._exact)) for way in made] for made in self._made
        ]

    def _cells(self, length: int) -> int:
        return (length + self._kerf) // self._grid

    def _groups(self) -> list[Lapped]:
        """Return sticks that count alike at an end together: named by the same values, with the same ends and laps."""
        found: dict[object, list[int]] = {}
        for k in self._ways.lapped():
            named = tuple(k in self._named(ends) for values in self._bench.plan.proof.runs for ends in values.ends)
            found.setdefault((named, self._ways.asks(k), self._supplies[k].ends), []).append(k)
        return [
            Lapped(tuple(kinds), *self._ways.asks(kinds[0]), max(self._supplies[k].length for k in kinds))
            for kinds in found.values()
        ]

    def _named(self, ends: EndValues) -> set[int]:
        rows = [row.id for row in self._bench.material.stock]
        offcuts = list(self._bench.offcuts)
        found = {rows.index(name) for name in ends.stock if name in rows}
        return found | {len(rows) + offcuts.index(name) for name in ends.offcuts if name in offcuts}

    def most_pieces(self) -> int:
        """Return how many pieces any plan cuts at the most."""
        runs = sum(course.times * most_pieces(self._bench, course.wanted.required) for course in self._courses)
        return sum(item.required.pieces for item in self._pieces) + runs

    def rows(self) -> list[Row]:
        """Return one row for each set of values."""
        proof = self._bench.plan.proof
        further = [tuple(zip(proof.values, values, strict=False)) for values in proof.further]
        pieces = [[(piece, piece.value) for piece in proof.values], *further]
        if len(pieces) != len(proof.runs):
            raise TooLargeToCheck("as many sets of values for pieces as for runs are needed")
        return [self._row(values, some) for values, some in zip(proof.runs, pieces, strict=True)]

    def _row(self, values: RunValues, pieces: Sequence[tuple[PieceValue, int]]) -> Row:
        worths = self._worths(values, pieces)
        yields = self._yields(worths)
        sticks = tuple(max(pair) for pair in zip(yields, worths.sticks, strict=True))
        worth = sum(self._piece(item, worths, sticks) * item.required.pieces for item in self._pieces)
        for course, split in zip(self._courses, self._split, strict=True):
            worth += course.times * self._run(course, split, worths, sticks)
        return Row(worth, sticks)

    def _worths(self, values: RunValues, pieces: Sequence[tuple[PieceValue, int]]) -> _Worths:
        width, count = self._cells(max(s.length for s in self._supplies)), len(self._supplies)
        sides = {side: [np.zeros(width + 1, np.int64) for _ in range(count)] for side in (Side.RIGHT, Side.LEFT)}
        anywhere = np.zeros(width + 1, np.int64)
        for ends in values.ends:
            line = straight(ends.worth, width)
            if ends.side is None:
                anywhere = np.maximum(anywhere, line)
                continue
            for k in self._named(ends):
                np.maximum(sides[ends.side][k], line, out=sides[ends.side][k])
        claimed = {(p.length, p.needs_left, p.needs_right): value for p, value in pieces}
        sticks = {(s.stock, s.offcut): s.value for s in values.sticks}
        names = [(row.id, None) for row in self._bench.material.stock] + [(None, name) for name in self._bench.offcuts]
        known = tuple(max(0, sticks.get(name, 0)) for name in names)
        if max((*map(abs, claimed.values()), *known), default=0) > LARGEST:
            raise TooLargeToCheck("values above 2^44")
        return _Worths(tuple(sides[Side.RIGHT]), tuple(sides[Side.LEFT]), anywhere, claimed, known)

    def _yields(self, worths: _Worths) -> list[int]:
        """Return the most that a cut of each kind of stick is worth."""
        longest = self._cells(max(s.length for s in self._supplies))
        items = [
            Item(self._cells(item.in_stick), worths.pieces.get((item.in_stick, False, False), 0), item.required.pieces)
            for item in self._pieces
            if not (item.needs_left or item.needs_right)
        ]
        plain = steps_of(items, longest).best(np.arange(longest + 1))
        if not self._factory:
            most = _any_number(plain, worths.anywhere)
            return [int(most[self._cells(supply.length)]) for supply in self._supplies]
        found = []
        for k, supply in enumerate(self._supplies):
            most = plain[: self._cells(supply.length) + 1]
            for side, has in ((worths.right, supply.ends.has_right), (worths.left, supply.ends.has_left)):
                if has:
                    most = _one_more(most, side[k])
            found.append(int(most[-1]))
        return found

    def _piece(self, item: Wanted, worths: _Worths, sticks: Sequence[int]) -> int:
        """Return what a piece of the request is worth, out of the stick that makes it cheapest."""
        if not (item.needs_left or item.needs_right):
            return worths.pieces.get((item.in_stick, False, False), 0)
        return self._one(item.in_stick, item.needs_left, item.needs_right, worths, sticks, range(len(self._supplies)))

    def _one(
        self, length: int, left: bool, right: bool, worths: _Worths, sticks: Sequence[int], kinds: Sequence[int]
    ) -> int:
        """Return the least that one piece with these factory ends is worth; LARGEST where no stick yields it."""
        least = LARGEST
        for k in kinds:
            supply = self._supplies[k]
            if left and right and supply.length == length and supply.ends.has_left and supply.ends.has_right:
                least = min(least, sticks[k])
            elif (
                left != right and length <= supply.length and (supply.ends.has_left if left else supply.ends.has_right)
            ):
                least = min(least, int((worths.left if left else worths.right)[k][self._cells(length)]))
        return least

    def _run(
        self, course: Course, split: Sequence[tuple[Way, Ints, Ints]], worths: _Worths, sticks: Sequence[int]
    ) -> int:
        """Return the least that the pieces of a run are worth."""
        if not self._factory:
            return min((self._free(worths.anywhere, *each) for each in self._free_sums(course)), default=0)
        return min(
            self._whole(course, worths, sticks), *(self._least(*each, worths, sticks) for each in split), LARGEST
        )

    def _whole(self, course: Course, worths: _Worths, sticks: Sequence[int]) -> int:
        """Return what the run is worth as one piece; nothing where it is held anywhere in a stick."""
        item, least = course.wanted.required, LARGEST
        left, right = item.left_end.meets is Meets.LAP, item.right_end.meets is Meets.LAP
        for k in self._ways.lapped():
            length = course.spans(1, *self._ways.asks(k))
            if length <= self._supplies[k].length and not (left or right):
                return 0
            least = min(least, self._one(length, left, right, worths, sticks, [k]))
        return least

    @staticmethod
    def _least(way: Way, firsts: Ints, lasts: Ints, worths: _Worths, sticks: Sequence[int]) -> int:
        if not len(firsts):
            return LARGEST
        costs = np.full(len(firsts), sum(sticks[k] for k in way.wholes))
        if way.first:
            costs = costs + worths.right[way.first.kinds[0]][firsts]
        if way.last:
            costs = costs + worths.left[way.last.kinds[0]][lasts]
        return int(costs.min())

    def _free_sums(self, course: Course) -> list[tuple[int, int]]:
        """Return numbers of pieces, and what they add up to."""
        asked = [self._ways.asks(k) for k in self._ways.lapped()]
        longest = max((self._supplies[k].length for k in self._ways.lapped()), default=0)
        pairs = {(lap, gap) for lap, _ in asked for _, gap in asked}
        sums = {
            (parts, course.spans(parts, *pair))
            for parts in range(1, most_pieces(self._bench, course.wanted.required) + 1)
            for pair in pairs
        }
        return sorted((parts, total) for parts, total in sums if parts <= total <= parts * longest)

    def _sums(self) -> list[int]:
        return [] if self._factory else [total for course in self._courses for _, total in self._free_sums(course)]

    def _free(self, slot: Ints, parts: int, total: int) -> int:
        """Return the least that so many pieces of this sum are worth."""
        cells = (total + self._kerf * parts) // self._grid - (0 if self._exact else parts - 1)
        shortest = self._bench.material.settings.shortest_piece or 0
        fewest = self._cells(shortest) if self._ways.strict and shortest else self._kerf // self._grid
        rows = slot[fewest:]
        cells = max(0, cells - fewest * parts)
        row = rows[: cells + 1]
        for _ in range(parts - 1):
            row = _fewest(row, rows, cells)
        return int(row[cells]) if cells < len(row) else LARGEST


def _breaks_rules(bench: Bench) -> bool:
    """Whether the plan breaks a rule, so that plans that break some are compared with it."""
    declared = (notice for notice in bench.whole.warnings if notice.code in list(BreachCode))
    return any(notice.material == bench.material.id for notice in declared)


def straight(knots: Sequence[tuple[int, int]], width: int) -> Ints:
    """Return what 0 to ``width`` cells are worth: on straight lines between the knots, and never falling."""
    if not knots:
        return np.zeros(width + 1, np.int64)
    cells, worth = np.array([cells for cells, _ in knots]), np.array([worth for _, worth in knots])
    if (np.diff(cells) <= 0).any() or abs(worth).max() > LARGEST or not 0 <= cells[0] <= cells[-1] <= LARGEST:
        raise TooLargeToCheck("cells that do not ascend, or values above 2^44")
    places = np.arange(width + 1)
    after = np.clip(np.searchsorted(cells, places, side="right"), 1, len(cells) - 1) if len(knots) > 1 else 0
    low, one = cells[after - 1], worth[after - 1]
    span, rise = cells[after] - low, worth[after] - one
    line = one + rise * np.minimum(places - low, span) // np.maximum(span, 1)
    found: Ints = np.maximum.accumulate(np.where(places < cells[0], 0, np.maximum(line, 0)))
    return found


def _one_more(most: Ints, slot: Ints) -> Ints:
    """Return the most that fills and at most one slot are worth in 0, 1, ... cells."""
    found = most.copy()
    for cells in range(1, len(most)):
        np.maximum(found[cells:], most[: len(most) - cells] + slot[cells], out=found[cells:])
    return found


def _any_number(most: Ints, slot: Ints) -> Ints:
    """Return the most that fills and any slots are worth in 0, 1, ... cells."""
    found = most.copy()
    for size in range(1, len(found)):
        found[size] = max(int(found[size]), int((slot[1 : size + 1] + found[size - 1 :: -1]).max()))
    return found


def _fewest(row: Ints, slot: Ints, most: int) -> Ints:
    """Return the least that rows with one piece more are worth, by cells together up to ``most``."""
    found = np.full(min(most + 1, len(row) + len(slot) - 1), LARGEST * 2**10, np.int64)
    for cells, worth in enumerate(slot.tolist()[: len(found)]):
        part = found[cells : cells + len(row)]
        np.minimum(part, row[: len(part)] + worth, out=part)
    return found
