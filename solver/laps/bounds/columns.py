"""The two families of columns: how a run is split, and how a stick is cut, on the grid of cells.

A slot is a piece of so many cells at the right end of a stick (a run's first piece) or at its left end (a last
piece), out of one of the sets of sticks in ``model.sides``; slots link the families. A run's split takes slots,
a stick's cut gives them, and a longer slot may serve a shorter piece.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from solver.laps.model import Ints, LapModel, RunCandidate, with_end
from solver.laps.templates import Kinds, levels

NONE = -1
"""Stands for no slot."""


class RunColumn(NamedTuple):
    """A way to make up the runs of one class: whole sticks, and the slots of its cut pieces (set and cells)."""

    alike: int
    wholes: tuple[int, ...]
    first: int
    first_cells: int
    last: int
    last_cells: int


class StickColumn(NamedTuple):
    """A way to cut a stick of a kind: its slots, and the plain pieces (places in ``model.plain``, repeated)."""

    kind: int
    plain: tuple[int, ...]
    first: int
    first_cells: int
    last: int
    last_cells: int


def kinds_of(column: StickColumn | RunColumn) -> Counter[int]:
    """Return how many sticks of each kind a column takes."""
    return Counter((column.kind,) if isinstance(column, StickColumn) else column.wholes)


def cost_of(model: LapModel, column: StickColumn | RunColumn) -> int:
    """Return what a column's sticks cost, with the price of its laps."""
    sticks = sum(model.problem.sticks[kind].cost * n for kind, n in kinds_of(column).items())
    return sticks + lap_cost(model, column)


def lap_cost(model: LapModel, column: StickColumn | RunColumn) -> int:
    """Return the price of a run's laps; cuts of sticks, and pieces that need a factory end, have none."""
    return 0 if isinstance(column, StickColumn) else model.problem.rules.lap_price * lap_count(column)


def lap_count(column: RunColumn | ColumnFamily) -> int:
    """Return how many laps a run has that is split so."""
    return max(0, len(column.wholes) + (column.first != NONE) + (column.last != NONE) - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnFamily:
    """Run columns of one class that differ in where the run is cut.

    ``firsts`` and ``lasts``, both of shape (places,), are the cells of the first piece and of the last one beside it.
    """

    alike: int
    wholes: tuple[int, ...]
    first: int
    last: int
    firsts: Ints
    lasts: Ints

    def split(self, at: int) -> RunColumn:
        """Return the split cut at the place numbered ``at``."""
        return RunColumn(self.alike, self.wholes, self.first, int(self.firsts[at]), self.last, int(self.lasts[at]))


LapRow = tuple[frozenset[int], int]
"""Classes of runs, and how many laps all their runs have together at the least where rules are kept."""


@dataclass(frozen=True, slots=True)
class RunClasses:
    """What is asked for: classes of runs alike, then kinds of pieces that need a factory end; with their templates.

    ``pieces[c]`` is the piece's index, None for a class of runs. ``laps`` are what rules between courses ask for.
    """

    families: tuple[tuple[ColumnFamily, ...], ...]
    demand: tuple[int, ...]
    pieces: tuple[int | None, ...]
    laps: tuple[LapRow, ...] = ()

    @property
    def shortest(self) -> int:
        """The shortest slot any of them takes, in cells."""
        cells = (n for ts in self.families for t in ts for n in (*t.firsts.tolist(), *t.lasts.tolist()) if n)
        return min(cells, default=1)


def classes_of(model: LapModel, leeway: Sequence[int], laps: tuple[LapRow, ...] = ()) -> RunClasses:
    """Return the classes of a model, of which so many ``laps`` are asked.

    Only lengths count that break the fewest of a run's own rules, plus ``leeway[class]``. Lengths are rounded
    down to cells: what is left out is nothing that a plan could do, so prices on them still bound every plan.
    """
    runs = range(max(model.alike, default=-1) + 1)
    ends = [i for i, piece in enumerate(model.problem.pieces) if piece.left or piece.right]
    families = [tuple(_run_families(model, alike, leeway[alike])) for alike in runs]
    families += [tuple(_piece_families(model, i, len(runs) + n)) for n, i in enumerate(ends)]
    demand = [model.alike.count(alike) for alike in runs] + [model.problem.pieces[i].demand for i in ends]
    return RunClasses(tuple(families), tuple(demand), (*(None for _ in runs), *ends), laps)


def set_numbers(model: LapModel) -> tuple[dict[Kinds, int], dict[Kinds, int]]:
    """Return the number of each set of sticks in ``model.sides``."""
    firsts, lasts = ({kinds: n for n, kinds in enumerate(side)} for side in model.sides)
    return firsts, lasts


def _run_families(model: LapModel, alike: int, leeway: int) -> Iterator[ColumnFamily]:
    firsts, lasts = set_numbers(model)
    merged: dict[tuple[object, ...], tuple[RunCandidate, list[tuple[int, int]]]] = {}
    for candidate, low, high in _kept(model.candidates[model.alike.index(alike)], leeway):
        template = candidate.template
        if template.loose:
            # It may lie between two slots: that it takes none only lowers the bound.
            yield ColumnFamily(
                alike=alike, wholes=(), first=NONE, last=NONE, firsts=np.zeros(1, np.int64), lasts=np.zeros(1, np.int64)
            )
            continue
        key = tuple(sorted(template.wholes)), template.first, template.last, template.rest
        merged.setdefault(key, (candidate, []))[1].append((low, high))
    for candidate, kept in merged.values():
        template = candidate.template
        first_cells, last_cells = _cells(model, candidate, kept)
        yield ColumnFamily(
            alike=alike,
            wholes=tuple(sorted(template.wholes)),
            first=firsts.get(template.first, NONE),
            last=lasts.get(template.last, NONE),
            firsts=first_cells,
            lasts=last_cells,
        )


def _piece_families(model: LapModel, index: int, number: int) -> Iterator[ColumnFamily]:
    """Yield how a piece that needs a factory end is had: a slot, or with both ends a whole stick."""
    piece, sticks = model.problem.pieces[index], model.problem.sticks
    right, left = with_end(model.problem, right=True), with_end(model.problem, right=False)
    nothing, cells = np.zeros(1, np.int64), np.array([model.cells(piece.length)], np.int64)
    if piece.left and piece.right:
        exact = sorted(k for k in right & left if sticks[k].length == piece.length)
        yield from (
            ColumnFamily(alike=number, wholes=(k,), first=NONE, last=NONE, firsts=nothing, lasts=nothing) for k in exact
        )
    elif piece.right:
        yield ColumnFamily(
            alike=number, wholes=(), first=set_numbers(model)[0][right], last=NONE, firsts=cells, lasts=nothing
        )
    else:
        yield ColumnFamily(
            alike=number, wholes=(), first=NONE, last=set_numbers(model)[1][left], firsts=nothing, lasts=cells
        )


def _kept(candidates: Sequence[RunCandidate], leeway: int) -> Iterator[tuple[RunCandidate, int, int]]:
    cut = [
        (candidate, low, high, depth + candidate.broken)
        for candidate in candidates
        for low, high, depth in levels(candidate.low, candidate.high, candidate.holes)
    ]
    most = min((broken for *_, broken in cut), default=0) + leeway
    return ((candidate, low, high) for candidate, low, high, broken in cut if broken <= most)


def _cells(model: LapModel, candidate: RunCandidate, kept: Sequence[tuple[int, int]]) -> tuple[Ints, Ints]:
    """Return for every cell of the first piece the fewest cells that the last one beside it takes."""
    rest = candidate.template.rest
    pairs: dict[int, int] = {}
    for low, high in kept:
        for a in _longest_in_each_cell(model, low, high):
            first, last = model.cells(a) if a else 0, model.cells(rest - a) if rest > a else 0
            pairs[first] = min(pairs.get(first, last), last)
    firsts = sorted(pairs)
    return np.array(firsts, np.int64), np.array([pairs[n] for n in firsts], np.int64)


def _longest_in_each_cell(model: LapModel, low: int, high: int) -> Iterator[int]:
    """Yield the longest length in every cell between ``low`` and ``high``.

    On an exact grid lengths are whole cells; an end that is none stands for an open one, and the cell beyond counts.
    """
    if (cell := model.cell) == model.divisor:
        yield from range(low // cell * cell, -(-high // cell) * cell + 1, cell)
        return
    for n in range(model.cells(low), model.cells(high) + 1):
        yield min(high, model.shortest(n + 1) - 1)
