"""Whether numbers of sticks within a cost could be worth all pieces, by several sets of values at once.

Each set of values is a row: ``n_k`` sticks yield no more than ``sum(n_k * yields_k)`` and have to come to ``worth``
(Benders 1962: cuts on how many sticks of each kind there are). With the cost and the limits that is a system of
inequalities in a handful of whole numbers. Kind after kind is eliminated from it (Fourier and Motzkin; what has too
many ancestors follows from the rest, Kohler 1967), which leaves for each kind the range that the numbers chosen before
it allow; then the numbers within their ranges are gone through. All of it is whole numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd

from solver.checking.knapsack import TooLargeToCheck

MOST_INEQUALITIES = 2_000
"""Pairs of inequalities that are put together to eliminate one number, before it is given up."""

MOST_LOOKS = 1_000_000
"""Inequalities that choices are held against, over all of them; a second or two."""


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
