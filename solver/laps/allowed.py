"""Where a run may be lapped beside its neighbours: the lengths of its first piece that break the fewest rules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from solver.laps.intervals import Interval, levels, without
from solver.laps.neighbours import holes_beside
from solver.laps.prices import Ints
from solver.laps.site import Layout
from solver.laps.yard import Yard


@dataclass(frozen=True, slots=True)
class Choice:
    """A layout and the closed intervals its first piece's length may lie in, ascending."""

    layout: Layout
    lows: Ints
    highs: Ints

    def longest_up_to(self, lengths: Ints) -> tuple[Ints, Ints]:
        """Return the places in ``lengths`` that allow a first piece, and the longest one allowed there."""
        at = np.searchsorted(self.lows, lengths, "right") - 1
        fits = np.flatnonzero(at >= 0)
        return fits, np.minimum(lengths[fits], self.highs[at[fits]])


class Allowed:
    """The choices of every run in a yard, worked out again when a neighbour has moved."""

    def __init__(self, yard: Yard) -> None:
        self._yard = yard
        self._known: dict[int, tuple[Choice, ...]] = {}

    def choices(self, run: int) -> tuple[Choice, ...]:
        """Return the layouts of a run that break the fewest rules beside its neighbours as they lie."""
        for changed in self._yard.changed:
            self._known.pop(changed, None)
        self._yard.changed.clear()
        if run not in self._known:
            self._known[run] = tuple(self._keeping_all(run)) or tuple(self._breaking_fewest(run))
        return self._known[run]

    def _holes(self, layout: Layout) -> list[Interval]:
        return [*layout.holes, *holes_beside(self._yard.site, layout, self._yard.laps)]

    def _keeping_all(self, run: int) -> Iterator[Choice]:
        for layout in self._yard.site.layouts[run]:
            if layout.broken == 0 and (kept := without(layout.low, layout.high, self._holes(layout))):
                yield _choice(layout, kept)

    def _breaking_fewest(self, run: int) -> Iterator[Choice]:
        layouts = self._yard.site.layouts[run]
        found = [(layout, list(levels(layout.low, layout.high, self._holes(layout)))) for layout in layouts]
        least = min((layout.broken + depth for layout, cut in found for _, _, depth in cut), default=0)
        for layout, cut in found:
            if kept := [(low, high) for low, high, depth in cut if layout.broken + depth == least]:
                yield _choice(layout, kept)


def _choice(layout: Layout, kept: list[Interval]) -> Choice:
    lows, highs = zip(*kept, strict=True)
    return Choice(layout, np.array(lows, np.int64), np.array(highs, np.int64))
