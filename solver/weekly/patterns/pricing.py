"""The timed pattern that is worth most: a knapsack over the days, filled from what is left of the stick.

``worth[ends, room]`` is the most that pieces up to a day are worth where so much room is left (in grid
units, a kerf after every piece) and so many factory ends (bit 0 left, bit 1 right). Only a stick that is
uncut, or left at least the shortest that may be carried, is cut on a later day; an offcut pays a toll for each
night until then. On a grid coarser than the data, pieces are rounded up, so every pattern found can be cut.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import gcd

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import Pattern
from solver.weekly.timed import Supply, TimedProblem

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
    """What was done on one day.

    ``worth`` is that of sticks cut that day, ``gave_up`` where an end was given up that was not needed, and
    ``from_last`` where what was carried into the day had been cut on the day before in the list, not earlier.
    """

    steps: list[_Step]
    worth: Worths
    gave_up: Marks
    from_last: Marks


class TimedPricer:
    """Prices one timed problem again and again."""

    def __init__(self, problem: TimedProblem, fee: float | None = None) -> None:
        """Take ``fee`` for what carrying an offcut costs; None: as much as the problem says."""
        self._problem = problem
        self._fee = problem.carrying_cost if fee is None else fee
        sizes = [problem.taken(piece.length) for piece in problem.pieces]
        rooms = [problem.taken(supply.length) for supply in problem.supplies]
        longest, fine = max(rooms), gcd(*sizes, *rooms)
        self.exact = longest // fine <= FINEST
        """Whether the grid is as fine as the data, so that no pattern is worth more than the best found."""
        self._unit = fine if self.exact else -(-longest // FINEST)
        self._sizes = [-(-size // self._unit) for size in sizes]
        self._capacities = [room // self._unit for room in rooms]
        self._carry_from = -(-problem.taken(problem.shortest) // self._unit)
        self._days = sorted({piece.day for piece in problem.pieces})
        self._ends_matter = any(piece.left or piece.right for piece in problem.pieces)

    def best(
        self, place: int, values: Sequence[float], demands: Sequence[int], tolls: Mapping[int, float], most: int
    ) -> list[tuple[float, Pattern]]:
        """Return up to ``most`` patterns of the supply ``place`` with the highest worth, best first.

        ``tolls`` is what a place in the van is worth each night.
        """
        supply = self._problem.supplies[place]
        capacity = self._capacities[place]
        ends = supply.left + 2 * supply.right if self._ends_matter else 0
        fill = _Fill(ends, capacity, self._carry_from, self._fee)
        last = supply.opened
        for day in (day for day in self._days if day >= supply.first):
            fill.night(_toll(tolls, last, day))
            fill.day(self._steps(day, capacity, values, demands), self._begin(supply, day, tolls))
            last = day
        return [(worth, Pattern(place, fill.pieces(*found))) for worth, *found in fill.tops(most)]

    def _begin(self, supply: Supply, day: int, tolls: Mapping[int, float]) -> float:
        """Return what a stick begins with that is cut for the first time on a day: less if it lies in the van."""
        if supply.opened is None:
            return 0.0
        return -self._fee - _toll(tolls, supply.opened, day)

    def _steps(
        self, day: int, capacity: int, values: Sequence[float], demands: Sequence[int]
    ) -> Iterator[tuple[int, int, int, int, float]]:
        for i, piece in enumerate(self._problem.pieces):
            if piece.day != day or values[i] <= 0 or not demands[i] or (piece.left and piece.right):
                continue
            ends = piece.left + 2 * piece.right
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


def _toll(tolls: Mapping[int, float], since: int | None, day: int) -> float:
    return 0.0 if since is None else sum(tolls.get(night, 0.0) for night in range(since, day))


class _Fill:
    """``fee`` is paid when a stick that was cut before is cut on another day, beside the tolls of the nights."""

    def __init__(self, ends: int, capacity: int, carry_from: int, fee: float) -> None:
        self._ends, self._capacity, self._carry_from, self._fee = ends, capacity, carry_from, fee
        self._carried: Worths = np.full((ends + 1, capacity + 1), -np.inf)
        self._days: list[_Day] = []

    def night(self, toll: float) -> None:
        """Let everything that has been cut lie in the van until the next day."""
        from_last = np.zeros(self._carried.shape, np.bool_)
        if self._days:
            last = self._days[-1].worth
            from_last = last > self._carried
            self._carried = np.where(from_last, last, self._carried)
        self._carried = self._carried - toll
        self._from_last = from_last

    def day(self, steps: Iterator[tuple[int, int, int, int, float]], begin: float) -> None:
        """Fill on with one day's pieces; an uncut stick begins with ``begin``."""
        worth = self._carried - self._fee
        worth[:, : self._carry_from] = -np.inf
        worth[self._ends, self._capacity] = begin
        taken = []
        for piece, copies, size, ends, value in steps:
            if size <= self._capacity:
                taken.append(_Step(piece, copies, size, ends, self._take(worth, size, ends, value)))
        # what nothing was taken from today was not cut today
        cut = np.logical_or.reduce([step.taken for step in taken]) if taken else np.zeros(worth.shape, np.bool_)
        worth[~cut] = -np.inf
        gave_up = _give_up_an_end(worth)
        self._days.append(_Day(taken, worth, gave_up, self._from_last))

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

    def tops(self, most: int) -> list[tuple[float, int, int, int]]:
        """Return the highest duals, each with its day in the list, ends and room, best first."""
        found = []
        for day, done in enumerate(self._days):
            flat = done.worth.ravel()
            best = np.argsort(-flat, kind="stable")[:most]
            found += [(float(flat[at]), day, *divmod(int(at), self._capacity + 1)) for at in best if flat[at] > 0]
        return sorted(found, reverse=True)[:most]

    def pieces(self, day: int, ends: int, room: int) -> tuple[int, ...]:
        """Return the pieces that lead to a place."""
        found: Counter[int] = Counter()
        while True:
            done = self._days[day]
            if done.gave_up[ends, room]:
                ends = 3
            for step in reversed(done.steps):
                if step.taken[ends, room]:
                    found[step.piece] += step.copies
                    room, ends = room + step.size, ends | step.ends
            if room == self._capacity:
                return tuple(sorted(found.elements()))
            while not self._days[day].from_last[ends, room]:
                day -= 1
            day -= 1


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
