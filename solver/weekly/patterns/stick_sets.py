"""Sets of a few sticks to buy that cost less than something and are long enough, the cheapest first.

A best-first search (Hart, Nilsson and Raphael 1968, "A formal basis for the heuristic determination of minimum cost
paths"): sticks are added one by one, the longest first. A set counts for what it costs with all that is bought beside
it, and for no less than what the length that is still missing must cost, at the least that any stick asks for so much.
More sticks never cost less, so what is left out costs too much or is too short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from heapq import heappop, heappush
from itertools import accumulate, groupby
from math import ceil
from typing import NamedTuple

from solver.watch import Watch

STICKS = 8
"""Sticks of a set, at most."""
LOOKED_AT = 50_000
"""Sets that are priced, long enough or not, at most."""


class Offered(NamedTuple):
    """Sticks alike that can be bought: their place, the length that one fills, its least cost, and how many."""

    place: int
    length: int
    least: Fraction
    limit: int | None


class _Part(NamedTuple):
    """A set that may become longer, in the order in which sets are looked at; its last stick is of kind ``last``."""

    cost: int
    number: int
    sticks: tuple[int, ...]
    length: int
    least: Fraction
    last: int


class CheaperSets:
    """Sets of sticks whose ``price`` is less than ``below`` and that fill ``wanted`` or more.

    ``beside`` is the least that all other sticks cost, which are part of the price.
    """

    def __init__(
        self,
        offered: Sequence[Offered],
        price: Callable[[Sequence[int]], int],
        below: int,
        wanted: int,
        beside: Fraction = Fraction(0),
    ) -> None:
        self._offered = sorted(offered, key=lambda kind: (-kind.length, kind.place))
        self._price, self._below, self._wanted, self._beside = price, below, wanted, beside
        # what each length costs at least, by the first kind of stick that may still be added
        rates = [kind.least / kind.length for kind in reversed(self._offered)]
        self._rates = list(accumulate(rates, min))[::-1]
        self._priced = 0
        self.all = True
        """Whether none has been left out."""

    def found(self, watch: Watch) -> Iterator[tuple[int, tuple[int, ...]]]:
        """Yield what each set costs and its sticks by their places; of what costs as much the longest."""
        for cost, alike in groupby(self._cheapest(watch), key=lambda part: part.cost):
            for part in sorted(alike, key=lambda part: (-part.length, len(part.sticks), sorted(part.sticks))):
                yield cost, tuple(sorted(part.sticks))

    def _cheapest(self, watch: Watch) -> Iterator[_Part]:
        empty = _Part(self._price(()), 0, (), 0, self._beside, 0)
        parts = [empty] if empty.cost < self._below else []
        while parts:
            part = heappop(parts)
            if part.length >= self._wanted:
                yield part
            for further in self._further(part):
                heappush(parts, further)
            if self._priced > LOOKED_AT or watch.stopped:
                self.all = False
                return

    def _further(self, part: _Part) -> Iterator[_Part]:
        """Yield the set with each one stick more by which it may become long enough."""
        for n in range(part.last, len(self._offered) if len(part.sticks) < STICKS else 0):
            kind, sticks = self._offered[n], (*part.sticks, self._offered[n].place)
            length, least = part.length + kind.length, part.least + kind.least
            missing = max(0, self._wanted - length)
            if missing > (STICKS - len(sticks)) * kind.length:
                return
            cost = max(part.cost, ceil(least + missing * self._rates[n]))
            if cost < self._below and (kind.limit is None or sticks.count(kind.place) <= kind.limit):
                self._priced += 1
                if (cost := max(cost, self._price(sticks))) < self._below:
                    yield _Part(cost, self._priced, sticks, length, least, n)
