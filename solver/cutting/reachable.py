"""Which sums can be made: subset sums as one big integer, bit ``s`` standing for the sum ``s``.

Shifting the integer by a length adds that length to every sum at once (the word-parallel form of
Bellman's subset-sum recursion), so a stick of a million units costs a few hundred kilobytes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import gcd

import numpy as np

MOST_COSTS = 2**22
"""Above this many costs it is not listed how much length each of them buys."""
MOST_BITS = 2**25
"""Above this many sums the set is not built, and rounding up to the common divisor has to do."""


def halves(copies: int) -> Iterator[int]:
    """Split ``copies`` into parts whose subsets sum to everything from 0 to ``copies``: 1, 2, 4, …, rest."""
    part = 1
    while copies > 0:
        yield min(part, copies)
        copies -= part
        part *= 2


def reachable_sums(parts: Iterable[tuple[int, int]], most: int) -> int:
    """Return the sums up to ``most`` made of ``(size, copies)`` parts, as bits."""
    mask, sums = (1 << (most + 1)) - 1, 1
    for size, copies in parts:
        for times in halves(min(copies, most // size)):
            sums |= (sums << size * times) & mask
    return sums


def largest_sums(parts: Iterable[tuple[int, int]], lengths: Sequence[int]) -> list[int]:
    """Return for each length the largest sum up to it that ``(size, copies)`` parts make."""
    sums = reachable_sums(parts, max(lengths, default=0))
    return [(sums & ((1 << (length + 1)) - 1)).bit_length() - 1 for length in lengths]


def least_cover(sticks: Iterable[tuple[int, int, int | None]], length: int, most: int) -> int | None:
    """Return the least that ``(cost, length, limit)`` sticks cost which are together so long.

    It is ``most + 1`` where up to ``most`` none are, and None where there are too many costs to list.
    """
    kinds = [(cost, long, limit) for cost, long, limit in sticks if 0 < cost <= most and limit != 0]
    step = gcd(*(cost for cost, _, _ in kinds)) or 1
    top = most // step
    if top > MOST_COSTS:
        return None
    longest = np.zeros(top + 1, np.int64)
    for cost, long, limit in kinds:
        fit = most // cost
        for times in halves(fit if limit is None else min(limit, fit)):
            paid = cost // step * times
            np.maximum(longest[paid:], longest[:-paid] + long * times, out=longest[paid:])
    enough = int(np.searchsorted(longest, length))
    return enough * step if enough <= top else most + 1


@dataclass(frozen=True, slots=True)
class Costs:
    """The total costs that whole sticks within their limits can make, known up to ``most``.

    ``step`` divides every cost; ``sums`` holds the reachable multiples of it as bits, or is None
    where there are too many to list.
    """

    step: int
    most: int
    sums: int | None

    @classmethod
    def of(cls, sticks: Iterable[tuple[int, int | None]], most: int) -> Costs:
        """List the costs up to ``most`` made by ``(cost, limit)`` sticks."""
        paid = [(cost, limit) for cost, limit in sticks if 0 < cost <= most and limit != 0]
        step = gcd(*(cost for cost, _ in paid)) or 1
        top = most // step
        if top > MOST_BITS:
            return cls(step, most, None)
        parts = [(cost // step, top if limit is None else limit) for cost, limit in paid]
        return cls(step, most, reachable_sums(parts, top))

    def lift(self, bound: int) -> int:
        """Return the smallest reachable cost of at least ``bound``; ``most + 1`` where there is none up to ``most``."""
        steps = max(0, -(-bound // self.step))
        if self.sums is None:
            return steps * self.step
        above = self.sums >> steps
        return (steps + (above & -above).bit_length() - 1) * self.step if above else self.most + 1
