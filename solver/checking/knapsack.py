"""The most that fits, exactly: a bounded integer knapsack over reachable sums.

The best value for every capacity is kept as its steps (Nemhauser and Ullmann 1969: only sums that no lighter
sum matches) while they are few, and as one array over all capacities once they are not. Weights are divided by
their common divisor first, which loses nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import gcd

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

LARGEST_VALUE = 2**60
"""A few values up to this can be added in 64 bits without wrapping."""
WIDEST_ARRAY = 2**25
"""Capacities up to this are kept as an array; a quarter of a gigabyte."""
MOST_WORK = 2**32
"""Capacities times items that an array is gone through for; some seconds."""


class TooLargeToCheck(ValueError):
    """The numbers are beyond what can be summed exactly here: the claim stays unproven, never half-checked."""


@dataclass(frozen=True, slots=True)
class Item:
    """So many ``copies`` of a weight and what each is worth; weights are not below 0."""

    weight: int
    value: int
    copies: int


@dataclass(frozen=True, slots=True)
class Steps:
    """The best value by capacity as a rising staircase: from ``weights[i]`` on it is ``values[i]``."""

    unit: int
    weights: Ints
    values: Ints

    def best(self, capacities: Ints) -> Ints:
        """Return the best value for each capacity; capacities are not below 0."""
        found: Ints = self.values[np.searchsorted(self.weights, capacities // self.unit, side="right") - 1]
        return found


def steps_of(items: Iterable[Item], capacity: int, most_work: int = MOST_WORK) -> Steps:
    """Return the best values of ``items`` for all capacities up to ``capacity``.

    Raises TooLargeToCheck where values or capacities are too large for exact 64-bit sums, or for ``most_work``.
    """
    useful = [item for item in items if item.value > 0 and item.copies > 0 and item.weight <= capacity]
    free = sum(item.value * item.copies for item in useful if item.weight == 0)
    heavy = [item for item in useful if item.weight > 0]
    unit = gcd(*(item.weight for item in heavy)) or 1
    chunks = [chunk for item in heavy for chunk in _chunks(item, capacity, unit)]
    if max(capacity, free + sum(value for _, value in chunks)) >= LARGEST_VALUE:
        raise TooLargeToCheck("sums above 2^60")
    width = min(capacity // unit, sum(weight for weight, _ in chunks))
    weights, values = _staircase(chunks, width, most_work)
    return Steps(unit, weights, values + free)


def _chunks(item: Item, capacity: int, unit: int) -> Iterator[tuple[int, int]]:
    """Split the copies into 1, 2, 4, ... and a rest, which sum to every number up to them."""
    left, size = min(item.copies, capacity // item.weight), 1
    while left:
        size = min(size, left)
        yield item.weight // unit * size, item.value * size
        left, size = left - size, size * 2


def _staircase(chunks: list[tuple[int, int]], width: int, most_work: int) -> tuple[Ints, Ints]:
    weights, values = np.zeros(1, np.int64), np.zeros(1, np.int64)
    for done, (weight, value) in enumerate(chunks):
        if len(weights) > max(64, width // 16):
            if width * (len(chunks) - done) > most_work:
                raise TooLargeToCheck("more sums than there is time for")
            return _array(weights, values, chunks[done:], width)
        weights, values = _merged(weights, values, weight, value, width)
    return weights, values


def _merged(weights: Ints, values: Ints, weight: int, value: int, width: int) -> tuple[Ints, Ints]:
    room = int(np.searchsorted(weights, width - weight, side="right"))
    both = np.concatenate((weights, weights[:room] + weight))
    worth = np.concatenate((values, values[:room] + value))
    order = np.lexsort((-worth, both))
    both, worth = both[order], worth[order]
    before = np.maximum.accumulate(np.concatenate((np.array([-1]), worth[:-1])))
    rises = worth > before
    return both[rises], worth[rises]


def _array(weights: Ints, values: Ints, chunks: list[tuple[int, int]], width: int) -> tuple[Ints, Ints]:
    if width > WIDEST_ARRAY:
        raise TooLargeToCheck(f"capacities above {WIDEST_ARRAY}")
    best = np.zeros(width + 1, np.int64)
    best[weights] = values
    np.maximum.accumulate(best, out=best)
    for weight, value in chunks:
        if weight <= width:
            np.maximum(best[weight:], best[: width + 1 - weight] + value, out=best[weight:])
    return np.arange(width + 1), best
