"""All patterns of a part that a plan within the target may hold, where they are few enough to be written down.

Breadth first over the layers, all beginnings of paths side by side. A beginning is kept only if its best
end makes it a path of small enough reduced cost, so there are never more beginnings than patterns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.flow.tables import Tables
from solver.cutting.flow.weighing import Weighed
from solver.cutting.pricing import IntVector
from solver.cutting.problem import Pattern

HOPELESS = 1_000
"""Times as many paths as may be listed: so many more than patterns are seldom found among arcs that fixing has left."""


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
    """Paths begun: the place each has come to, and what it has collected."""

    at: IntVector
    worth: IntVector


_Step = tuple[IntVector, IntVector]
"""For every path after a layer: which path before it, and the option taken."""


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
