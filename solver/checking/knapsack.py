"""What fits in sticks, exactly: a bounded integer knapsack, and numbers of sticks under several sets of values.

The best value for every capacity is kept as its steps (Nemhauser and Ullmann 1969: only sums that no lighter
sum matches) while they are few, and as one array over all capacities once they are not. Weights are divided by
their common divisor first, which loses nothing.

``any_numbers``: whether numbers of sticks within a cost could be worth all pieces, by several sets of values at once.
Each set of values is a row: ``n_k`` sticks yield no more than ``sum(n_k * yields_k)`` and have to come to ``worth``
(Benders 1962: cuts on how many sticks of each kind there are). With the cost and the limits that is a system of
inequalities in a handful of whole numbers. Kind after kind is eliminated from it (Fourier and Motzkin; what has too
many ancestors follows from the rest, Kohler 1967), which leaves for each kind the range that the numbers chosen before
it allow; then the numbers within their ranges are gone through. All of it is whole numbers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
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
MOST_INEQUALITIES = 2_000
"""Pairs of inequalities that are put together to eliminate one number, before it is given up."""
MOST_LOOKS = 1_000_000
"""Inequalities that choices are held against, over all of them; a second or two."""


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


def most_worth(items: Iterable[Item], capacity: int) -> int:
    """Return the most that ``items`` within ``capacity`` are worth. Raises as ``steps_of`` does.

    As many of an item as weigh a multiple of another can give way to the other, and nothing is lost where that one is
    worth most for its weight and doesn't run out. So there need be fewer than that of all others, however many there
    are, and each number of the one is tried beside them.
    """
    useful = [item for item in items if item.value > 0 and item.copies > 0 and item.weight <= capacity]
    one = max((item for item in useful if item.weight > 0), key=lambda it: Fraction(it.value, it.weight), default=None)
    if one is None or one.copies < capacity // one.weight:
        return int(steps_of(useful, capacity).best(np.array([capacity]))[0])
    others = [_fewer_than(item, one.weight // gcd(one.weight, item.weight)) for item in useful if item is not one]
    together, most = sum(item.weight * item.copies for item in others), capacity // one.weight
    if max(capacity, one.value * most + sum(item.value * item.copies for item in others)) >= LARGEST_VALUE:
        raise TooLargeToCheck("sums above 2^60")
    numbers = np.arange(max(0, capacity - together) // one.weight, most + 1)
    beside = steps_of(others, min(capacity, together)).best(capacity - one.weight * numbers)
    return int((one.value * numbers + beside).max())


def _fewer_than(item: Item, copies: int) -> Item:
    return replace(item, copies=min(item.copies, copies - 1)) if item.weight else item


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


@dataclass(frozen=True, slots=True)
class Row:
    """What all pieces are worth by one set of values, and the most that a stick of each kind is worth.

    ``lost`` is how much more the pieces may be worth, where their worth was rounded down.
    """

    worth: int
    yields: tuple[int, ...]
    lost: int = 0

    def favoured(self) -> Row:
        """Return the row with all that may have been lost."""
        return Row(self.worth + self.lost, self.yields)


@dataclass(frozen=True, slots=True)
class _Inequality:
    """``sum(factors * numbers) >= least``, and which inequalities of the first system it was put together from."""

    factors: tuple[int, ...]
    least: int
    ancestors: frozenset[int]


def any_numbers(rows: Sequence[Row], prices: Sequence[int], limits: Sequence[int], capacity: int) -> bool:
    """Whether some numbers of sticks within ``limits`` that cost no more than ``capacity`` satisfy every row.

    Sticks without price are taken to the last. Raises TooLargeToCheck where that takes too much.
    """
    paid = sorted((k for k, price in enumerate(prices) if price and limits[k]), key=lambda k: -prices[k])
    system = [
        *_rows(rows, prices, limits, paid),
        *_bounds([prices[k] for k in paid], [limits[k] for k in paid], capacity),
    ]
    systems = [[_Inequality(factors, least, frozenset((i,))) for i, (factors, least) in enumerate(system)]]
    for place in reversed(range(len(paid))):
        systems.append(_without(systems[-1], place, len(paid) - place))
    if any(one.least > 0 for one in systems[-1]):
        return False
    return not paid or _Choices(systems[-2::-1]).any_from(())


def _rows(
    rows: Sequence[Row], prices: Sequence[int], limits: Sequence[int], paid: Sequence[int]
) -> list[tuple[tuple[int, ...], int]]:
    free = [sum(n * limits[k] for k, n in enumerate(row.yields) if not prices[k]) for row in rows]
    return [(tuple(row.yields[k] for k in paid), row.worth - given) for row, given in zip(rows, free, strict=True)]


def _bounds(prices: Sequence[int], limits: Sequence[int], capacity: int) -> list[tuple[tuple[int, ...], int]]:
    """Return what the money and the limits allow."""
    ones = [tuple(int(i == j) for j in range(len(prices))) for i in range(len(prices))]
    none = [(one, 0) for one in ones]
    most = [(tuple(-n for n in one), -limit) for one, limit in zip(ones, limits, strict=True)]
    return [(tuple(-price for price in prices), -capacity), *none, *most]


def _without(system: Sequence[_Inequality], place: int, eliminated: int) -> list[_Inequality]:
    """Return what the system says of the other numbers, the one at ``place`` being any that satisfies it."""
    rising = [one for one in system if one.factors[place] > 0]
    falling = [one for one in system if one.factors[place] < 0]
    if len(rising) * len(falling) > MOST_INEQUALITIES:
        raise TooLargeToCheck("too many inequalities between numbers of sticks")
    found: dict[tuple[int, ...], _Inequality] = {}
    pairs = (_together(up, down, place) for up in rising for down in falling)
    for one in (*(one for one in system if not one.factors[place]), *pairs):
        known = found.get(one.factors)
        if len(one.ancestors) <= eliminated + 1 and (known is None or one.least > known.least):
            found[one.factors] = one
    return list(found.values())


def _together(up: _Inequality, down: _Inequality, place: int) -> _Inequality:
    """Add the two so that the number at ``place`` falls out, in lowest terms: rounded up, as numbers are whole."""
    a, b = -down.factors[place], up.factors[place]
    factors = [a * one + b * other for one, other in zip(up.factors, down.factors, strict=True)]
    common = gcd(*factors) or 1
    least = -(-(a * up.least + b * down.least) // common)
    return _Inequality(tuple(n // common for n in factors), least, up.ancestors | down.ancestors)


class _Choices:
    """Goes through all numbers; ``systems[j]`` speaks of the first ``j + 1`` kinds."""

    def __init__(self, systems: Sequence[Sequence[_Inequality]]) -> None:
        self._systems = systems
        self._left = MOST_LOOKS

    def any_from(self, chosen: tuple[int, ...]) -> bool:
        """Whether numbers that begin so satisfy the last system."""
        self._left -= len(self._systems[len(chosen)])
        if self._left < 0:
            raise TooLargeToCheck("too many numbers of sticks")
        least, most = self._range(chosen)
        if len(chosen) + 1 == len(self._systems):
            return least <= most
        return any(self.any_from((*chosen, n)) for n in range(least, most + 1))

    def _range(self, chosen: tuple[int, ...]) -> tuple[int, int]:
        place, least = len(chosen), [0]
        most: list[int] = []
        for one in self._systems[place]:
            factor = one.factors[place]
            if factor:
                lacking = one.least - sum(a * n for a, n in zip(one.factors, chosen, strict=False))
                (least if factor > 0 else most).append(-(-lacking // factor) if factor > 0 else lacking // factor)
        return max(least), min(most)
