"""The dated pattern that is worth most: a knapsack over the days, filled from what is left of the stick.

``worth[ends, room]`` is the most that pieces up to a day are worth where so much room is left (in grid
units, a kerf after every piece) and so many factory ends (bit 0 left, bit 1 right). Only a stick that is
uncut, or left at least the shortest that may be carried, is cut on a later day. On a grid coarser than the data,
pieces are rounded up, so every pattern found can be cut.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import gcd

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import Pattern
from solver.weekly.dated import DatedProblem, Supply

FINEST = 3_000
"""Grid units in the longest stick, at most."""
Worths = NDArray[np.float64]
Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Step:
    """Taking ``copies`` of a piece, which uses up ``ends``: where that is better than not."""

    piece: int
    copies: int
    size: int
    ends: int
    taken: Marks


@dataclass(slots=True)
class _Day:
    """The steps of one day, where it is better to cut that day, and which end was given up that was not needed."""

    steps: list[_Step] = field(default_factory=list)
    cut: Marks = field(default_factory=lambda: np.zeros((4, 0), np.bool_))
    gave_up: Marks = field(default_factory=lambda: np.zeros((4, 0), np.bool_))


class DatedPricer:
    """Prices one dated problem again and again."""

    def __init__(self, problem: DatedProblem) -> None:
        self._problem = problem
        kerf = problem.kerf
        longest = max(supply.length for supply in problem.supplies) + kerf
        fine = gcd(*(p.length + kerf for p in problem.pieces), *(s.length + kerf for s in problem.supplies))
        self._unit = fine if longest // fine <= FINEST else -(-longest // FINEST)
        self._sizes = [-(-(piece.length + kerf) // self._unit) for piece in problem.pieces]
        self._carry_from = -(-(problem.shortest + kerf) // self._unit)
        self._days = sorted({piece.day for piece in problem.pieces})
        self._ends_matter = any(piece.left or piece.right for piece in problem.pieces)

    def best(
        self, place: int, values: Sequence[float], demands: Sequence[int], most: int
    ) -> list[tuple[float, Pattern]]:
        """Return up to ``most`` patterns of the supply ``place`` with the highest worth, best first."""
        supply = self._problem.supplies[place]
        capacity = (supply.length + self._problem.kerf) // self._unit
        toll = self._problem.carrying_cost
        ends = supply.left + 2 * supply.right if self._ends_matter else 0
        fill = _Fill(ends, capacity, self._carry_from, toll, supply.opened is not None)
        days = [fill.day(self._steps(day, supply, values, demands)) for day in self._days if day >= supply.first]
        found = sorted(fill.tops(most), reverse=True)
        return [(worth, Pattern(place, fill.pieces(days, ends, room))) for worth, ends, room in found]

    def _steps(
        self, day: int, supply: Supply, values: Sequence[float], demands: Sequence[int]
    ) -> Iterator[tuple[int, int, int, int, float]]:
        for i, piece in enumerate(self._problem.pieces):
            if piece.day != day or values[i] <= 0 or not demands[i] or (piece.left and piece.right):
                continue
            ends = piece.left + 2 * piece.right
            capacity = (supply.length + self._problem.kerf) // self._unit
            count = 1 if ends else min(demands[i], capacity // self._sizes[i])
            for copies in _halved(count):
                yield i, copies, copies * self._sizes[i], ends, copies * values[i]


def _halved(count: int) -> Iterator[int]:
    """Yield numbers whose sums are just 1 to ``count``."""
    copies = 1
    while count > 0:
        yield min(copies, count)
        count -= copies
        copies *= 2


class _Fill:
    """``toll`` is paid when a stick that was cut before is cut on another day; an ``opened`` one pays at once."""

    def __init__(self, ends: int, capacity: int, carry_from: int, toll: float, opened: bool) -> None:
        self._ends, self._capacity, self._carry_from = ends, capacity, carry_from
        self._toll, self._begin = toll, -toll if opened else 0.0
        self._worth: Worths = np.full((ends + 1, capacity + 1), -np.inf)

    def day(self, steps: Iterator[tuple[int, int, int, int, float]]) -> _Day:
        """Fill on with one day's pieces and return how."""
        made = _Day()
        worth = self._worth - self._toll
        worth[:, : self._carry_from] = -np.inf
        worth[self._ends, self._capacity] = self._begin
        for piece, copies, size, ends, value in steps:
            if size <= self._capacity:
                taken = self._take(worth, size, ends, value)
                made.steps.append(_Step(piece, copies, size, ends, taken))
        worth[:, self._capacity] = -np.inf
        made.gave_up = _give_up_an_end(worth)
        made.cut = worth > self._worth
        self._worth = np.where(made.cut, worth, self._worth)
        return made

    def _take(self, worth: Worths, size: int, ends: int, value: float) -> Marks:
        taken = np.zeros(worth.shape, np.bool_)
        reach = self._capacity + 1 - size
        states = [state for state in range(len(worth)) if state & ends == ends]
        targets = [state ^ ends for state in states]
        with_it = worth[states, size:] + value if ends else worth[:, size:] + value
        better = with_it > (worth[targets, :reach] if ends else worth[:, :reach])
        for state, row, wins in zip(targets, with_it, better, strict=True):
            np.copyto(worth[state, :reach], row, where=wins)
            taken[state, :reach] = wins
        return taken

    def tops(self, most: int) -> Iterator[tuple[float, int, int]]:
        """Yield the places of highest worth, with it."""
        flat = self._worth.ravel()
        for at in np.argsort(-flat, kind="stable")[:most]:
            if flat[at] > 0:
                ends, room = divmod(int(at), self._capacity + 1)
                yield float(flat[at]), ends, room

    def pieces(self, days: Sequence[_Day], ends: int, room: int) -> tuple[int, ...]:
        """Return the pieces that lead to a place."""
        found: Counter[int] = Counter()
        for day in reversed(days):
            if not day.cut[ends, room]:
                continue
            if day.gave_up[ends, room]:
                ends = 3
            for step in reversed(day.steps):
                if step.taken[ends, room]:
                    found[step.piece] += step.copies
                    room, ends = room + step.size, ends | step.ends
        return tuple(sorted(found.elements()))


def _give_up_an_end(worth: Worths) -> Marks:
    """Let a stick cut today that still has both factory ends lose one: the cut is made at one end."""
    gave_up = np.zeros(worth.shape, np.bool_)
    if len(worth) < 4:
        return gave_up
    for target in (1, 2):
        gave_up[target] = worth[3] > worth[target]
        worth[target] = np.maximum(worth[target], worth[3])
    worth[3] = -np.inf
    return gave_up
