"""Dealing splits to the courses: which of the runs alike is split how, so that laps are staggered."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

import numpy as np

from solver.laps.columns import NONE, Cut, Split, set_numbers
from solver.laps.neighbours import Laps, broken_beside
from solver.laps.site import Layout, Site

Way = tuple[int, float, Split, Layout, int]
"""Rules broken, a lot, the split, the layout and the length of its first piece."""


class Deal:
    """One deal: ``laid[run]`` is the layout and first piece's length, ``broken`` how many rules are broken.

    Dealt from the lowest course of each wall, always the split that breaks the fewest rules with those below.
    """

    def __init__(self, site: Site, counts: dict[Cut | Split, int], dice: np.random.Generator) -> None:
        self._site, self._dice = site, dice
        self._laps: Laps = [None] * len(site.problem.runs)
        self._splits: dict[int, Split] = {}
        self.laid: dict[int, tuple[Layout, int]] = {}
        hands: dict[int, list[Split]] = defaultdict(list)
        for column, count in counts.items():
            if isinstance(column, Split):
                hands[column.alike] += [column] * count
        for wall in site.walls:
            for run in wall:
                hand = hands[site.alike[run]]
                hand.remove(self._take(run, min(self._ways(run, dict.fromkeys(hand)), key=_fewest)))

    @property
    def broken(self) -> int:
        """How many rules are broken."""
        own = sum(layout.breaks(a) for layout, a in self.laid.values())
        beside = sum(broken_beside(self._site, run, self._laps[run] or (), self._laps) for run in self.laid)
        return own + beside // 2

    def swap(self, tries: int) -> None:
        """Exchange the splits of two runs alike where that breaks no more rules."""
        alike: dict[int, list[int]] = defaultdict(list)
        for run in self.laid:
            alike[self._site.alike[run]].append(run)
        for _ in range(tries):
            bad = [run for run in self.laid if self._breaks(run) and len(alike[self._site.alike[run]]) > 1]
            if not bad:
                return
            one = bad[int(self._dice.integers(len(bad)))]
            others = alike[self._site.alike[one]]
            self._try_swap(one, others[int(self._dice.integers(len(others)))])

    def _breaks(self, run: int) -> int:
        layout, a = self.laid[run]
        return layout.breaks(a) + broken_beside(self._site, run, self._laps[run] or (), self._laps)

    def _try_swap(self, one: int, other: int) -> None:
        splits = self._splits[one], self._splits[other]
        if splits[0] == splits[1]:
            return
        before = self._breaks(one) + self._breaks(other)
        held = self.laid[one], self.laid[other]
        self._laps[one] = self._laps[other] = None
        self._take(one, min(self._ways(one, [splits[1]]), key=_fewest))
        self._take(other, min(self._ways(other, [splits[0]]), key=_fewest))
        if self._breaks(one) + self._breaks(other) > before:
            for run, split, (layout, a) in zip((one, other), splits, held, strict=True):
                self._take(run, (0, 0.0, split, layout, a))

    def _take(self, run: int, way: Way) -> Split:
        _, _, split, layout, a = way
        self._splits[run], self.laid[run], self._laps[run] = split, (layout, a), layout.laps(a)
        return split

    def _ways(self, run: int, hand: Iterable[Split]) -> Iterator[Way]:
        """Yield every way to lay a run by a split in hand."""
        for split in hand:
            for layout, a in layouts_of(self._site, run, split):
                broken = layout.breaks(a) + broken_beside(self._site, run, layout.laps(a), self._laps)
                yield broken, float(self._dice.random()), split, layout, a


def layouts_of(site: Site, run: int, split: Split) -> Iterator[tuple[Layout, int]]:
    """Yield the layouts of a run that are split so, with the length of the first piece."""
    firsts, lasts = set_numbers(site)
    a = split.first_cells * site.cell - site.problem.kerf if split.first != NONE else 0
    for layout in site.layouts[run]:
        shape = layout.shape
        sets = tuple(sorted(shape.wholes)), firsts.get(shape.first, NONE), lasts.get(shape.last, NONE)
        if sets == (split.wholes, split.first, split.last) and layout.low <= a <= layout.high:
            yield layout, a


def _fewest(way: Way) -> tuple[int, float]:
    return way[:2]
