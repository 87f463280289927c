"""Where a run may be lapped beside its neighbours: the lengths of its first piece that break the fewest rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.laps.intervals import Interval, levels, without
from solver.laps.neighbours import holes_beside
from solver.laps.prices import Ints
from solver.laps.site import Layout
from solver.laps.yard import Yard


@dataclass(frozen=True, slots=True)
class Choice:
    """A layout and the closed intervals of its first piece's length, ascending; ``highs`` has one more in front."""

    layout: Layout
    lows: Ints
    highs: Ints

    def longest_up_to(self, lengths: Ints) -> tuple[Ints, NDArray[np.bool_]]:
        """Return the longest first piece allowed that is no longer than each length, and where there is none."""
        at = self.lows.searchsorted(lengths, "right")
        return np.minimum(np.maximum(lengths, self.layout.low), self.highs[at]), at == 0


class Allowed:
    """The choices of every run in a yard, worked out again when a neighbour has moved."""

    def __init__(self, yard: Yard) -> None:
        self._yard = yard
        self._keeping: dict[int, tuple[Choice, ...]] = {}
        self._breaking: dict[int, tuple[tuple[int, Choice], ...]] = {}

    def choices(self, run: int, may_use: Callable[[Choice], bool]) -> list[Choice]:
        """Return the layouts of a run, of those that may be used, that break the fewest rules beside its neighbours."""
        for changed in self._yard.changed:
            self._keeping.pop(changed, None)
            self._breaking.pop(changed, None)
        self._yard.changed.clear()
        if run not in self._keeping:
            self._keeping[run] = tuple(self._keeping_all(run))
        if kept := [choice for choice in self._keeping[run] if may_use(choice)]:
            return kept
        if run not in self._breaking:
            self._breaking[run] = tuple(self._breaking_some(run))
        found = [(broken, choice) for broken, choice in self._breaking[run] if may_use(choice)]
        least = min((broken for broken, _ in found), default=0)
        return [choice for broken, choice in found if broken == least]

    def _holes(self, layout: Layout) -> list[Interval]:
        return [*layout.holes, *holes_beside(self._yard.site, layout, self._yard.laps)]

    def _keeping_all(self, run: int) -> Iterator[Choice]:
        for layout in self._yard.site.layouts[run]:
            if layout.broken == 0 and (kept := without(layout.low, layout.high, self._holes(layout))):
                yield _choice(layout, kept)

    def _breaking_some(self, run: int) -> Iterator[tuple[int, Choice]]:
        """Yield each layout where it breaks one number of rules, with that number, fewest first."""
        for layout in self._yard.site.layouts[run]:
            cut = list(levels(layout.low, layout.high, self._holes(layout)))
            for broken in sorted({depth for _, _, depth in cut}):
                kept = [(low, high) for low, high, depth in cut if depth == broken]
                yield layout.broken + broken, _choice(layout, kept)


def _choice(layout: Layout, kept: list[Interval]) -> Choice:
    lows, highs = zip(*kept, strict=True)
    return Choice(layout, np.array(lows, np.int64), np.array([layout.low, *highs], np.int64))
