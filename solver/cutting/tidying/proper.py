"""Proper patterns by depth-first search, where there are not too many of them.

A pattern is proper if it holds no piece more often than it is wanted (Scheithauer and Terno 1995).
Given what each piece is worth, only patterns worth a floor or more are listed: those are all that a
plan within a known gap of the linear program can contain (reduced-cost fixing, e.g. Irnich,
Desaulniers, Desrosiers and Hadjar 2010).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from solver.cutting.problem import CuttingProblem, Pattern, Stick
from solver.cutting.tidying.pool import go_on
from solver.watch import Watch

CELLS = 1_024
"""Cells that a stick is cut into where its patterns are counted beforehand."""

DEEPEST = 400
"""Different pieces in one pattern, at most, so that the recursion stays shallow."""


LOOK = 500
"""Steps between two looks at the watch."""


class TooMany(Exception):
    """There are more patterns, or more steps to find them, than allowed."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which patterns of one stick to list: filled to ``room`` (kerf after every piece) and worth ``floor`` or more."""

    stick: int
    room: int
    values: Sequence[int]
    floor: int


@dataclass(frozen=True, slots=True)
class _Item:
    piece: int
    length: int
    value: int
    most: int
    ends: int
    """Which factory ends it needs: 1 the left, 2 the right."""


def proper_patterns(problem: CuttingProblem, steps: int, watch: Watch) -> list[Pattern]:
    """List every proper pattern of every stick; raises ``TooMany`` where that takes more than ``steps`` steps."""
    if sum(_at_least(problem, stick, steps) for stick in problem.sticks) > steps:
        raise TooMany
    values = [0] * len(problem.pieces)
    wanted = [Wanted(k, problem.taken(stick.length), values, 0) for k, stick in enumerate(problem.sticks)]
    return listed(problem, wanted, steps, watch)


def _at_least(problem: CuttingProblem, stick: Stick, most: int) -> int:
    """Return a number of patterns of a stick that there are at least, counted no further than somewhat above ``most``.

    Lengths are rounded up to cells, so what fits there fits; ``ways[c]`` counts what fits in ``c`` cells.
    """
    cell = -(-stick.length // CELLS)
    ways = np.ones(problem.taken(stick.length) // cell + 1, np.int64)
    for piece in (piece for piece in problem.pieces if not (piece.left or piece.right)):
        width, before = -(-problem.taken(piece.length) // cell), ways.copy()
        for copies in range(1, min(piece.demand, (len(ways) - 1) // width) + 1):
            ways[copies * width :] += before[: len(ways) - copies * width]
        np.minimum(ways, most + 1, out=ways)
        if ways[-1] > most:
            break
    return int(ways[-1])


def listed(problem: CuttingProblem, wanted: Sequence[Wanted], steps: int, watch: Watch) -> list[Pattern]:
    """List the proper patterns wanted; raises ``TooMany`` where that takes more than ``steps`` steps in all."""
    found: list[Pattern] = []
    for want in wanted:
        walk = _Walk(problem, want, steps, watch)
        found.extend(walk.patterns())
        steps = walk.steps
    return found


class _Walk:
    """One depth-first walk.

    Pieces that are worth most by length come first, so the rest of a stick is worth at most its room
    at the next piece's rate.
    """

    def __init__(self, problem: CuttingProblem, want: Wanted, steps: int, watch: Watch) -> None:
        self.want, self.steps, self.watch = want, steps, watch
        self.items = _items(problem, want)
        self.whole = [i for i in _whole(problem, want) if want.values[i] >= want.floor]
        self.chosen: list[int] = []
        self.found: list[Pattern] = []
        if self.items and want.room // min(item.length for item in self.items) > DEEPEST < len(self.items):
            raise TooMany

    def patterns(self) -> list[Pattern]:
        """Return every pattern found, those of one whole stick last."""
        self._extend(0, self.want.room, 0, 0)
        return [*self.found, *(Pattern(self.want.stick, (i,)) for i in self.whole)]

    def _extend(self, start: int, room: int, worth: int, ends: int) -> None:
        self.steps -= 1
        if self.steps < 0:
            raise TooMany
        if self.steps % LOOK == 0:
            go_on(self.watch)
        if self.chosen and worth >= self.want.floor:
            self.found.append(Pattern(self.want.stick, tuple(sorted(self.chosen))))
        for at in range(start, len(self.items)):
            item = self.items[at]
            if (self.want.floor - worth) * item.length > max(0, item.value) * room:
                return
            most = 0 if item.ends & ends else min(item.most, room // item.length)
            for n in range(1, most + 1):
                self.chosen.append(item.piece)
                self._extend(at + 1, room - n * item.length, worth + n * item.value, ends | item.ends)
            if most:
                del self.chosen[-most:]


def _items(problem: CuttingProblem, want: Wanted) -> list[_Item]:
    stick = problem.sticks[want.stick]
    items = [
        _Item(i, problem.taken(p.length), want.values[i], 1 if p.left or p.right else p.demand, p.left + 2 * p.right)
        for i, p in enumerate(problem.pieces)
        if p.demand and p.left <= stick.left and p.right <= stick.right and not (p.left and p.right)
    ]
    return sorted(items, key=lambda item: (Fraction(-item.value, item.length), item.piece))


def _whole(problem: CuttingProblem, want: Wanted) -> list[int]:
    """Pieces that are the whole stick: they need both of its ends."""
    stick = problem.sticks[want.stick]
    if not (stick.left and stick.right and want.room >= stick.length):
        return []
    return [i for i, p in enumerate(problem.pieces) if p.demand and p.left and p.right and p.length == stick.length]
