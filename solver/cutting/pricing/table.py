"""Pricing by dynamic programming over every length: one pass serves all sticks.

Bounded integer knapsack (Gilmore and Gomory 1966; copies split in halves as in Martello and Toth 1990,
section 3.3). After each part ``table[c]`` is the most value that fits in length ``c``, so the whole row
is one numpy operation and the last row answers for every stick. A piece that needs a factory end is
one more stage that may be used once.

Besides the best pattern of each stick, the same table gives for every piece the best pattern that
holds it: the best of the length that is left beside it. That makes a round of column generation worth
dozens of plain ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.pricing.protocol import IntVector, Prices
from solver.cutting.problem import CuttingProblem, Pattern
from solver.cutting.reachable import halves
from solver.watch import Watch

Choices = NDArray[np.int64]
"""For every length, the piece chosen in a stage that takes at most one, or -1."""

Ends = tuple[bool, bool]
"""Whether the left and the right end are needed, or open."""

_NONE, _LEFT, _RIGHT = (False, False), (True, False), (False, True)

_Start = tuple[int, int, bool, bool, int]
"""Where to trace from: stick, length to fill, left open, right open, piece already in or -1."""


@dataclass(frozen=True, slots=True)
class _Part:
    piece: int
    times: int
    taken: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Stage:
    """What fits when this end may be used: ``table[length]`` is its worth, ``chosen`` the piece at that end."""

    table: IntVector
    chosen: tuple[Choices, ...]


class TablePricer:
    """Prices over all lengths from 0 to the longest stick."""

    def __init__(self, problem: CuttingProblem, priced: int) -> None:
        """``priced``: only sticks before this index are priced."""
        self._sticks = problem.sticks[:priced]
        self._lengths = np.array([piece.length for piece in problem.pieces], np.int64)
        self._width = max((stick.length for stick in self._sticks), default=0)
        ends = [(piece.left, piece.right) for piece in problem.pieces]
        self._groups = {end: [i for i, needs in enumerate(ends) if needs == end] for end in (_NONE, _LEFT, _RIGHT)}

    def price(self, values: IntVector, copies: IntVector, floors: Sequence[int], watch: Watch) -> Prices:
        """See ``Pricer.price``; ceilings are sharp. One pass is short, so ``watch`` is not asked."""
        del watch
        parts, table = self._middle_parts(values, copies)
        stages = self._stages(table, values, copies)
        ceilings = tuple(int(stages[s.left, s.right].table[s.length]) for s in self._sticks)
        starts = self._starts(stages, values, copies, floors)
        return Prices(ceilings, _unique(self._trace(parts, stages, starts, copies)))

    def _middle_parts(self, values: IntVector, copies: IntVector) -> tuple[list[_Part], IntVector]:
        table, trial = np.zeros(self._width + 1, np.int64), np.empty(self._width + 1, np.int64)
        parts = []
        for i in self._groups[_NONE]:
            length, value = int(self._lengths[i]), int(values[i])
            if value > 0:
                parts += [
                    _Part(i, times, _add(table, trial, times * length, times * value))
                    for times in halves(min(int(copies[i]), self._width // length))
                ]
        return parts, table

    def _stages(self, table: IntVector, values: IntVector, copies: IntVector) -> dict[Ends, _Stage]:
        plain = _Stage(table, ())
        left = self._one_of(self._groups[_LEFT], plain, values, copies)
        right = self._one_of(self._groups[_RIGHT], plain, values, copies)
        both = self._one_of(self._groups[_RIGHT], left, values, copies)
        return {_NONE: plain, _LEFT: left, _RIGHT: right, (True, True): both}

    def _one_of(self, group: list[int], before: _Stage, values: IntVector, copies: IntVector) -> _Stage:
        if not group:
            return before
        table, chosen = before.table.copy(), np.full(self._width + 1, -1, np.int64)
        for i in group:
            length = int(self._lengths[i])
            if values[i] > 0 and copies[i] > 0 and length <= self._width:
                trial = before.table[: self._width + 1 - length] + values[i]
                better = trial > table[length:]
                table[length:][better] = trial[better]
                chosen[length:][better] = i
        return _Stage(table, (*before.chosen, chosen))

    def _starts(
        self, stages: dict[Ends, _Stage], values: IntVector, copies: IntVector, floors: Sequence[int]
    ) -> list[_Start]:
        """Return where to trace the patterns worth more than their floor."""
        starts = [
            (k, stick.length, stick.left, stick.right, -1)
            for k, stick in enumerate(self._sticks)
            if stages[stick.left, stick.right].table[stick.length] > floors[k]
        ]
        for ends, group in self._groups.items():
            wanted = [i for i in group if copies[i] > 0 and values[i] > 0]
            if wanted:
                starts += self._best_beside(np.array(wanted), ends, stages, values, floors)
        return starts

    def _best_beside(
        self, group: IntVector, ends: Ends, stages: dict[Ends, _Stage], values: IntVector, floors: Sequence[int]
    ) -> list[_Start]:
        """Return where to trace the best pattern that holds each piece of ``group``, if worth more than its floor."""
        gains = np.zeros((len(self._sticks), len(group)), np.int64)
        for k, stick in enumerate(self._sticks):
            if stick.left >= ends[0] and stick.right >= ends[1]:
                rooms = stick.length - self._lengths[group]
                table = stages[stick.left > ends[0], stick.right > ends[1]].table
                gains[k] = np.where(rooms >= 0, table[np.maximum(rooms, 0)] + values[group] - floors[k], 0)
        best = gains.argmax(axis=0)
        found = []
        for place in np.flatnonzero(gains.max(axis=0) > 0).tolist():
            k, i = int(best[place]), int(group[place])
            stick = self._sticks[k]
            room = stick.length - int(self._lengths[i])
            found.append((k, room, stick.left > ends[0], stick.right > ends[1], i))
        return found

    def _trace(
        self,
        parts: list[_Part],
        stages: dict[Ends, _Stage],
        starts: list[_Start],
        copies: IntVector,
    ) -> list[Pattern]:
        """Follow all starts back through the table side by side."""
        counts = np.zeros((len(starts), len(self._lengths)), np.int64)
        room = np.zeros(len(starts), np.int64)
        for row, (_, length, left, right, held) in enumerate(starts):
            room[row] = length
            if held >= 0:
                counts[row, held] += 1
            for chosen in reversed(stages[left, right].chosen):
                if (i := int(chosen[room[row]])) >= 0:
                    counts[row, i] += 1
                    room[row] -= self._lengths[i]
        for part in reversed(parts):
            took = part.taken[room]
            counts[:, part.piece] += took * part.times
            room -= took * (part.times * self._lengths[part.piece])
        fair = np.flatnonzero((counts <= copies).all(axis=1)).tolist()
        return [_pattern(starts[row][0], counts[row]) for row in fair]


def _add(table: IntVector, trial: IntVector, length: int, value: int) -> NDArray[np.bool_]:
    taken = np.zeros(len(table), np.bool_)
    if length < len(table):
        best, tried = table[length:], trial[length:]
        np.add(table[: len(table) - length], value, out=tried)
        np.greater(tried, best, out=taken[length:])
        np.maximum(best, tried, out=best)
    return taken


def _pattern(stick: int, counts: IntVector) -> Pattern:
    held = np.flatnonzero(counts)
    return Pattern(stick, tuple(np.repeat(held, counts[held]).tolist()))


def _unique(patterns: list[Pattern]) -> tuple[Pattern, ...]:
    return tuple(dict.fromkeys(patterns))
