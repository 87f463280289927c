"""Paths through the graphs: those of least reduced cost, and all within a gap.

``improving`` finds the best path through every option: the patterns that column generation wants. Paths are traced
side by side, layer by layer. Tracing goes by equality of whole numbers: a path follows the arc that collects exactly
what the table says is collected.

``listed`` gives all patterns of a part that a plan within the target may hold, where they are few enough. Breadth
first over the layers, all beginnings of paths side by side. A beginning is kept only if its best end makes it a path
of small enough reduced cost, so there are never more beginnings than patterns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.arcflow.fixing import Tables, Weighed
from solver.cutting.arcflow.graph import Option
from solver.cutting.pricing.protocol import IntVector
from solver.cutting.problem import Pattern

Rows = NDArray[np.intp]
HOPELESS = 1_000
"""Times as many paths as may be listed: so many more than patterns are seldom found among arcs that fixing has left."""
_Step = tuple[IntVector, IntVector]
"""For every path after a layer: which path before it, and the option taken."""


@dataclass(frozen=True, slots=True)
class _Starts:
    """Arcs to trace from, one entry each: layer, option, and the places at both ends."""

    depth: IntVector
    option: IntVector
    tail: IntVector
    head: IntVector


def improving(tables: Tables, most: int) -> list[Pattern]:
    """Return the best path through every option that collects more than its stick's price, up to ``most``."""
    starts = _starts(tables, most)
    if not len(starts.depth):
        return []
    lane = tables.lane
    pieces = max(option.piece for option in lane.options) + 1
    counts = np.zeros((len(starts.depth), pieces), np.int64)
    for row, r in enumerate(starts.option.tolist()):
        counts[row, lane.options[r].piece] += lane.options[r].copies
    _back(tables, starts, counts)
    ends = _on(tables, starts, counts)
    sticks = _sticks(tables, ends)
    held = (np.flatnonzero(row) for row in counts)
    patterns = (
        Pattern(k, tuple(np.repeat(places, row[places]).tolist()))
        for k, places, row in zip(sticks.tolist(), held, counts, strict=True)
    )
    return list(dict.fromkeys(patterns))


def _starts(tables: Tables, most: int) -> _Starts:
    """Return the best arc of each option that takes a piece, where its best path collects more than it pays."""
    found = []
    for depth, layer in enumerate(tables.lane.layers):
        for r in layer:
            if tables.lane.options[r].copies and len(tables.arcs.tails[r]):
                through = tables.through(depth, r)
                place = int(through.argmax())
                if through[place] > 0:
                    found.append((-int(through[place]), depth, r, place))
    chosen = sorted(found)[:most]
    tails = [tables.arcs.tails[r][place] for _, _, r, place in chosen]
    heads = [tables.arcs.heads[r][place] for _, _, r, place in chosen]
    depths, options = [depth for _, depth, _, _ in chosen], [r for _, _, r, _ in chosen]
    return _Starts(*(np.array(column, np.int64) for column in (depths, options, tails, heads)))


def _on(tables: Tables, starts: _Starts, counts: IntVector) -> IntVector:
    """Follow paths to their ends, adding what they hold to ``counts``; return the places where they end."""
    at = starts.head.copy()
    for depth in range(int(starts.depth.min()) + 1, len(tables.lane.layers)):
        todo = np.flatnonzero(starts.depth < depth)
        wanted = tables.onto[depth, at]
        for r in tables.lane.layers[depth]:
            rows, arcs = _arcs_at(tables.arcs.tails[r], at, todo)
            heads = tables.arcs.heads[r][arcs]
            right = tables.onto[depth + 1, heads] + _amounts(tables, r, arcs) == wanted[rows]
            todo = _moved(tables.lane.options[r], rows[right], todo, counts)
            at[rows[right]] = heads[right]
    return at


def _back(tables: Tables, starts: _Starts, counts: IntVector) -> None:
    """Follow paths back to the start, adding what they hold to ``counts``."""
    at = starts.tail.copy()
    for depth in reversed(range(int(starts.depth.max()))):
        todo = np.flatnonzero(starts.depth > depth)
        wanted = tables.into[depth + 1, at]
        for r in tables.lane.layers[depth]:
            rows, arcs = _arcs_at(tables.arcs.heads[r], at, todo)
            tails = tables.arcs.tails[r][arcs]
            right = tables.into[depth, tails] + _amounts(tables, r, arcs) == wanted[rows]
            todo = _moved(tables.lane.options[r], rows[right], todo, counts)
            at[rows[right]] = tails[right]


def _moved(option: Option, rows: Rows, todo: Rows, counts: IntVector) -> Rows:
    """Give these rows what the option holds, and return those still to be moved."""
    if option.copies:
        counts[rows, option.piece] += option.copies
    if len(rows) in (0, len(todo)):
        return todo if len(rows) == 0 else rows[:0]
    left = np.zeros(len(counts), np.bool_)
    left[todo] = True
    left[rows] = False
    return np.flatnonzero(left)


def _arcs_at(places: IntVector, at: IntVector, rows: Rows) -> tuple[Rows, Rows]:
    """Return those rows whose place is among ``places``, which rise, and which of them it is."""
    if not len(places) or not len(rows):
        return rows[:0], rows[:0]
    arcs = np.minimum(np.searchsorted(places, at[rows]), len(places) - 1)
    hit = places[arcs] == at[rows]
    return rows[hit], arcs[hit]


def _amounts(tables: Tables, r: int, arcs: Rows) -> IntVector | int:
    amounts = tables.collected.on(tables.lane, tables.arcs, r)
    return amounts if isinstance(amounts, int) else amounts[arcs]


def _sticks(tables: Tables, ends: IntVector) -> IntVector:
    """Return for each end of a path the stick whose price the table has paid."""
    sticks = np.full(len(ends), -1, np.int64)
    rows = np.arange(len(ends))
    for k, price, places in zip(tables.lane.sticks, tables.prices, tables.arcs.ends, strict=True):
        here, _ = _arcs_at(places, ends, rows)
        sticks[here[tables.onto[-1, ends[here]] == -price]] = k
    return sticks


class TooMany(Exception):
    """There are more patterns than allowed."""


def listed(weighed: Weighed, paid: Sequence[Tables], most: int) -> list[Pattern]:
    """List the patterns of reduced cost up to the gap; raises ``TooMany`` where there are more than ``most``."""
    patterns = list(weighed.node.given)
    if sum(_paths_left(each) for each in paid) > HOPELESS * most:
        raise TooMany
    for each in paid:
        patterns += _listed(each, weighed.fair.least, most - len(patterns))
    return patterns


def _paths_left(tables: Tables) -> float:
    """Return about how many paths there are, whatever they collect."""
    arcs = tables.arcs
    onto = np.zeros(len(arcs.places))
    for ends in arcs.ends:
        onto[ends] += 1
    for layer in reversed(tables.lane.layers):
        here = np.zeros_like(onto)
        for r in layer:
            here[arcs.tails[r]] += onto[arcs.heads[r]]
        onto = here
    return float(onto[0])


def _listed(tables: Tables, least: int, most: int) -> list[Pattern]:
    steps, at, worth = _paths(tables, least, most)
    found: list[Pattern] = []
    counts = _counts(tables, steps, len(at))
    for k, price, ends in zip(tables.lane.sticks, tables.prices, tables.arcs.ends, strict=True):
        good = np.flatnonzero(np.isin(at, ends) & (worth - price >= least) & counts.any(axis=1))
        if len(found) + len(good) > most:
            raise TooMany
        found += [Pattern(k, tuple(np.repeat(np.arange(counts.shape[1]), counts[row]).tolist())) for row in good]
    return found


@dataclass(frozen=True, slots=True)
class _Beginnings:
    """Paths begun, one entry each: the place it has come to, and what it has collected."""

    at: IntVector
    worth: IntVector


def _paths(tables: Tables, least: int, most: int) -> tuple[list[_Step], IntVector, IntVector]:
    """Return the layers' steps, and for every path the place where it ends and what it collects."""
    at, worth = np.zeros(1, np.int64), np.zeros(1, np.int64)
    steps: list[_Step] = []
    for depth, layer in enumerate(tables.lane.layers):
        beginnings = _Beginnings(at, worth)
        grown = [_grown(tables, depth, r, beginnings, least) for r in layer]
        options = [np.full(len(origin), r, np.int64) for r, (origin, _, _) in zip(layer, grown, strict=True)]
        origin, at, worth = (np.concatenate(parts) for parts in zip(*grown, strict=True))
        if len(at) > most:
            raise TooMany
        steps.append((origin, np.concatenate(options)))
    return steps, at, worth


def _grown(
    tables: Tables, depth: int, r: int, begun: _Beginnings, least: int
) -> tuple[NDArray[np.intp], IntVector, IntVector]:
    """Let every path take option ``r``: return the paths that can, where that leads, and what they have then."""
    tails, heads = tables.arcs.tails[r], tables.arcs.heads[r]
    if not len(tails):
        return np.empty(0, np.intp), begun.at[:0], begun.worth[:0]
    arcs = np.minimum(np.searchsorted(tails, begun.at), len(tails) - 1)
    amounts = tables.collected.on(tables.lane, tables.arcs, r)
    after = begun.worth + (amounts if isinstance(amounts, int) else amounts[arcs])
    good = np.flatnonzero((tails[arcs] == begun.at) & (after + tables.onto[depth + 1, heads[arcs]] >= least))
    return good, heads[arcs[good]], after[good]


def _counts(tables: Tables, steps: list[_Step], paths: int) -> IntVector:
    """Return how many of each piece every path holds."""
    options = tables.lane.options
    piece = np.array([option.piece for option in options])
    copies = np.array([option.copies for option in options])
    counts = np.zeros((paths, int(piece.max()) + 1), np.int64)
    rows = np.arange(paths)
    at = rows
    for origin, taken in reversed(steps):
        option = taken[at]
        counts[rows, piece[option]] += copies[option]
        at = origin[at]
    return counts
