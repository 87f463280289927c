"""The two families of columns: how a run is split, and how a stick is cut, on the grid of cells.

A slot is a piece of so many cells at the right end of a stick (a run's first piece) or at its left end (a last
piece), out of one of the sets of sticks in ``site.sides``; slots link the families. A run's split takes slots,
a stick's cut gives them, and a longer slot may serve a shorter piece.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from solver.laps.intervals import levels
from solver.laps.prices import Ints
from solver.laps.shapes import Kinds
from solver.laps.site import Layout, Site, with_end

NONE = -1
"""Stands for no slot."""


class Split(NamedTuple):
    """A way to make up the runs of one class: whole sticks, and the slots of its cut pieces (set and cells)."""

    alike: int
    wholes: tuple[int, ...]
    first: int
    first_cells: int
    last: int
    last_cells: int


class Cut(NamedTuple):
    """A way to cut a stick of a kind: its slots, and the plain pieces (places in ``site.plain``, repeated)."""

    kind: int
    plain: tuple[int, ...]
    first: int
    first_cells: int
    last: int
    last_cells: int


def kinds_of(column: Cut | Split) -> Counter[int]:
    """Return how many sticks of each kind a column takes."""
    return Counter((column.kind,) if isinstance(column, Cut) else column.wholes)


@dataclass(frozen=True, slots=True)
class Template:
    """Splits of one class that differ in where they are cut: cells of the first piece and, beside it, of the last."""

    alike: int
    wholes: tuple[int, ...]
    first: int
    last: int
    firsts: Ints
    lasts: Ints

    def split(self, at: int) -> Split:
        """Return the split cut at the place numbered ``at``."""
        return Split(self.alike, self.wholes, self.first, int(self.firsts[at]), self.last, int(self.lasts[at]))


@dataclass(frozen=True, slots=True)
class Classes:
    """What is asked for: classes of runs alike, then kinds of pieces that need a factory end; with their templates.

    ``pieces[c]`` is the piece's index, None for a class of runs.
    """

    templates: tuple[tuple[Template, ...], ...]
    demand: tuple[int, ...]
    pieces: tuple[int | None, ...]

    @property
    def shortest(self) -> int:
        """The shortest slot any of them takes, in cells."""
        cells = (n for ts in self.templates for t in ts for n in (*t.firsts.tolist(), *t.lasts.tolist()) if n)
        return min(cells, default=1)


def classes_of(site: Site, leeway: Sequence[int]) -> Classes:
    """Return the classes of a site.

    Only lengths count that break the fewest of a run's own rules, plus ``leeway[class]``. Lengths are rounded
    down to cells: what is left out is nothing that a plan could do, so prices on them still bound every plan.
    """
    runs = range(max(site.alike, default=-1) + 1)
    ends = [i for i, piece in enumerate(site.problem.pieces) if piece.left or piece.right]
    templates = [tuple(_run_templates(site, alike, leeway[alike])) for alike in runs]
    templates += [tuple(_piece_templates(site, i, len(runs) + n)) for n, i in enumerate(ends)]
    demand = [site.alike.count(alike) for alike in runs] + [site.problem.pieces[i].demand for i in ends]
    return Classes(tuple(templates), tuple(demand), (*(None for _ in runs), *ends))


def set_numbers(site: Site) -> tuple[dict[Kinds, int], dict[Kinds, int]]:
    """Return the number of each set of sticks in ``site.sides``."""
    firsts, lasts = ({kinds: n for n, kinds in enumerate(side)} for side in site.sides)
    return firsts, lasts


def _run_templates(site: Site, alike: int, leeway: int) -> Iterator[Template]:
    firsts, lasts = set_numbers(site)
    merged: dict[tuple[object, ...], tuple[Layout, list[tuple[int, int]]]] = {}
    for layout, low, high in _kept(site.layouts[site.alike.index(alike)], leeway):
        shape = layout.shape
        if shape.loose:
            # It may lie between two slots: that it takes none only lowers the bound.
            yield Template(alike, (), NONE, NONE, np.zeros(1, np.int64), np.zeros(1, np.int64))
            continue
        key = tuple(sorted(shape.wholes)), shape.first, shape.last, shape.rest
        merged.setdefault(key, (layout, []))[1].append((low, high))
    for layout, kept in merged.values():
        shape = layout.shape
        sets = firsts.get(shape.first, NONE), lasts.get(shape.last, NONE)
        yield Template(alike, tuple(sorted(shape.wholes)), *sets, *_cells(site, layout, kept))


def _piece_templates(site: Site, index: int, number: int) -> Iterator[Template]:
    """Yield how a piece that needs a factory end is had: a slot, or with both ends a whole stick."""
    piece, sticks = site.problem.pieces[index], site.problem.sticks
    right, left = with_end(site.problem, right=True), with_end(site.problem, right=False)
    nothing, cells = np.zeros(1, np.int64), np.array([(piece.length + site.problem.kerf) // site.cell], np.int64)
    if piece.left and piece.right:
        exact = sorted(k for k in right & left if sticks[k].length == piece.length)
        yield from (Template(number, (k,), NONE, NONE, nothing, nothing) for k in exact)
    elif piece.right:
        yield Template(number, (), set_numbers(site)[0][right], NONE, cells, nothing)
    else:
        yield Template(number, (), NONE, set_numbers(site)[1][left], nothing, cells)


def _kept(layouts: Sequence[Layout], leeway: int) -> Iterator[tuple[Layout, int, int]]:
    cut = [
        (layout, low, high, depth + layout.broken)
        for layout in layouts
        for low, high, depth in levels(layout.low, layout.high, layout.holes)
    ]
    most = min((broken for *_, broken in cut), default=0) + leeway
    return ((layout, low, high) for layout, low, high, broken in cut if broken <= most)


def _cells(site: Site, layout: Layout, kept: Sequence[tuple[int, int]]) -> tuple[Ints, Ints]:
    """Return for every cell of the first piece the fewest cells that the last one beside it takes."""
    kerf, cell, rest = site.problem.kerf, site.cell, layout.shape.rest
    pairs: dict[int, int] = {}
    for low, high in kept:
        lengths = _longest_in_each_cell(low, high, kerf, cell, site.divisor)
        for a in lengths:
            first, last = (a + kerf) // cell if a else 0, (rest - a + kerf) // cell if rest > a else 0
            pairs[first] = min(pairs.get(first, last), last)
    firsts = sorted(pairs)
    return np.array(firsts, np.int64), np.array([pairs[n] for n in firsts], np.int64)


def _longest_in_each_cell(low: int, high: int, kerf: int, cell: int, divisor: int) -> Iterator[int]:
    """Yield the longest length in every cell between ``low`` and ``high``.

    On an exact grid lengths are whole cells; an end that is none stands for an open one, and the cell beyond counts.
    """
    if cell == divisor:
        yield from range(low // cell * cell, -(-high // cell) * cell + 1, cell)
        return
    for n in range((low + kerf) // cell, (high + kerf) // cell + 1):
        yield min(high, (n + 1) * cell - 1 - kerf)
