"""Which courses the splits of chains may go to, so that laps are staggered: kept as runs are laid one after another."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from solver.laps.bounds.columns import NONE, ColumnFamily, RunColumn, set_numbers
from solver.laps.model import Ints, LapModel, RunCandidate, broken_beside, holes_beside
from solver.laps.state import PartialPlan

Open = NDArray[np.bool_]


class Placing:
    """What is open to the runs of a partial plan that have no place yet.

    ``open_at`` says for each family of splits at which of its places some run may be split that breaks no rule;
    all of them, where no run of the class finds any.
    """

    def __init__(self, model: LapModel, families: Sequence[ColumnFamily]) -> None:
        self._model, self._families = model, families
        self._candidates = _candidates(model, families)
        self._of_class: dict[int, list[int]] = defaultdict(list)
        for number, family in enumerate(families):
            self._of_class[family.alike].append(number)
        self._lengths: list[Ints] = [
            model.problem.given(family.firsts * model.cell) if family.first != NONE else np.zeros(1, np.int64)
            for family in families
        ]

    def begin(self, partial: PartialPlan) -> None:
        """Look at a plan in which nothing is laid."""
        self._partial = partial
        self._waiting: dict[int, set[int]] = defaultdict(set)
        for run, alike in enumerate(self._model.alike):
            self._waiting[alike].add(run)
        self._open: dict[int, dict[int, Open]] = {run: self._look(run) for run in range(len(self._model.alike))}
        self.open_at = [np.ones(len(family.lasts), np.bool_) for family in self._families]
        for alike in self._waiting:
            self._join(alike)

    def lay(self, split: RunColumn, number: int, place: int) -> tuple[tuple[RunCandidate, int], set[int]]:
        """Lay a run by a split of this family and place; return how, and the classes to which less is open now."""
        a = int(self._lengths[number][place])
        waiting = sorted(self._waiting[split.alike])
        free = [run for run in waiting if self._open[run][number][place]]
        # Of those that may have it the one that has the least choice.
        run = min(free or waiting, key=lambda each: sum(int(found.sum()) for found in self._open[each].values()))
        ways = [y for y in self._candidates[run, number] if y.low <= a <= y.high]
        candidate = min(ways, key=lambda y: self._broken(y, a))
        self._partial.place(candidate, a)
        self._waiting[split.alike].remove(run)
        changed = {split.alike}
        for other, _ in self._model.near[run]:
            if self._partial.placed[other] is None:
                self._open[other] = self._look(other)
                changed.add(self._model.alike[other])
        for alike in changed:
            self._join(alike)
        return (candidate, a), changed

    def _broken(self, candidate: RunCandidate, a: int) -> int:
        """Return how many rules a run laid so breaks, with those that are laid."""
        beside = broken_beside(self._model, candidate.run, candidate.laps(a), self._partial.laps)
        return candidate.breaks(a) + beside

    def _join(self, alike: int) -> None:
        """Bring up to date what is open to some run of a class."""
        numbers = self._of_class[alike]
        for number in numbers:
            some = [self._open[run][number] for run in self._waiting[alike]]
            self.open_at[number] = np.logical_or.reduce(some) if some else np.zeros_like(self.open_at[number])
        if self._waiting[alike] and not any(self.open_at[number].any() for number in numbers):
            for number in numbers:
                self.open_at[number] = np.ones_like(self.open_at[number])

    def _look(self, run: int) -> dict[int, Open]:
        """Return by family at which places a run may be split beside what is laid."""
        found: dict[int, Open] = {}
        for number in self._of_class[self._model.alike[run]]:
            lengths = self._lengths[number]
            some: Open = np.zeros(len(lengths), np.bool_)
            for candidate in self._candidates[run, number]:
                allowed: Open = (lengths >= candidate.low) & (lengths <= candidate.high)
                holes = (*candidate.holes, *holes_beside(self._model, candidate, self._partial.laps))
                for low, high in holes:
                    allowed[np.searchsorted(lengths, low, "right") : np.searchsorted(lengths, high, "left")] = False
                some |= allowed
            found[number] = some
        return found


def _candidates(model: LapModel, families: Sequence[ColumnFamily]) -> dict[tuple[int, int], list[RunCandidate]]:
    """Return the candidates of each run that a family's splits stand for."""
    firsts, lasts = set_numbers(model)
    found: dict[tuple[int, int], list[RunCandidate]] = {}
    for run, alike in enumerate(model.alike):
        for number, family in enumerate(families):
            if family.alike == alike:
                found[run, number] = [
                    candidate
                    for candidate in model.candidates[run]
                    if (tuple(sorted(candidate.template.wholes)), firsts.get(candidate.template.first, NONE),
                        lasts.get(candidate.template.last, NONE)) == (family.wholes, family.first, family.last)
                ]  # fmt: skip
    return found
