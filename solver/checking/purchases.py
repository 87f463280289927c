"""Whether a cheaper purchase could do: listed again, where sticks are sold by rules.

For every length is listed what each number of sticks costs at the least, more being allowed; for breaks that count all
lengths, once for each number that they begin at. All but one length are listed against each other, and the last one
must then be worth what is missing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, lcm, prod

import numpy as np

from solver.checking.bills import prices_at
from solver.checking.knapsack import Ints, Row, TooLargeToCheck
from solver.checking.reckoning import worth
from solver.materials import BreaksCount, Material, StockLength

MOST_LISTED = 2_000_000
"""Purchases that are listed against each other."""
MOST_STICKS = 200_000
"""Numbers of one length that are listed."""
NO_SUM = 2**61
"""More than any bill; two of them still add up in 64 bits."""
SUMMED_BITS = 61
"""Worths are shifted until all sticks of a purchase are worth less than this power of two."""


@dataclass(frozen=True, slots=True)
class Offer:
    """What numbers of sticks of one length cost at the least: the most sticks for each sum, ascending, from none."""

    sticks: Ints
    sums: Ints

    def cost(self, wanted: Ints) -> Ints:
        """Return the least sum for at least so many sticks."""
        place = np.searchsorted(self.sticks, wanted)
        return np.append(self.sums, NO_SUM)[place]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a purchase must be worth by every row, one yield a stock row, where no plan cuts more than ``pieces``.

    ``up``: what is rounded off counts against the bound.
    """

    rows: Sequence[Row]
    pieces: int
    up: bool = True


def any_purchase(material: Material, wanted: Wanted, below: Fraction) -> bool:
    """Whether a purchase that costs less than ``below`` can be worth all pieces.

    Raises TooLargeToCheck where finding out takes too much.
    """
    amounts = (amount for row in material.stock for amount in (*_amounts(row), worth(material, row.length)))
    unit = lcm(*(amount.denominator for amount in amounts))
    capacity = ceil(below * unit) - 1
    if capacity >= NO_SUM // 2:
        raise TooLargeToCheck("bills too large to sum")
    for level in _levels(material):
        offers = [_offer(row, level, capacity, unit, worth(material, row.length)) for row in material.stock]
        if _any_of(offers, level, wanted, capacity):
            return True
    return False


def _levels(material: Material) -> list[int]:
    together = (row for row in material.stock if row.breaks_count is BreaksCount.MATERIAL)
    return sorted({0, *(step.sticks for row in together for step in row.breaks)})


def _amounts(row: StockLength) -> Iterator[Fraction]:
    yield Fraction(row.fixed_cost)
    for sticks in (0, *(step.sticks for step in row.breaks)):
        yield from prices_at(row, sticks, sticks)


def _any_of(offers: Sequence[Offer], level: int, wanted: Wanted, capacity: int) -> bool:
    """Whether some of what is offered, ``level`` sticks in all, will do: all but one length listed, that one solved."""
    free = max(range(len(offers)), key=lambda k: len(offers[k].sticks))
    others = [k for k in range(len(offers)) if k != free]
    if prod(len(offers[k].sticks) for k in others) > MOST_LISTED:
        raise TooLargeToCheck("too many purchases")
    axes = np.meshgrid(*(np.arange(len(offers[k].sticks)) for k in others), indexing="ij")
    places = {k: np.ravel(axis) for k, axis in zip(others, axes, strict=True)}
    nothing = np.zeros(1, np.int64)
    bought = {k: offers[k].sticks[place] for k, place in places.items()}
    cut = {k: np.minimum(sticks, wanted.pieces) for k, sticks in bought.items()}
    needed = nothing
    for row in wanted.rows:
        yields, worth = _fitting(row, wanted)
        lacking = worth - sum((yields[k] * sticks for k, sticks in cut.items()), nothing)
        gain = yields[free]
        needed = np.maximum(needed, -(-lacking // gain) if gain else np.where(lacking > 0, NO_SUM, 0))
    enough = needed <= wanted.pieces
    needed = np.maximum(needed, level - sum(bought.values(), nothing))
    paid = sum((offers[k].sums[place] for k, place in places.items()), nothing)
    return bool(np.any(enough & (paid + offers[free].cost(needed) <= capacity)))


def _fitting(row: Row, wanted: Wanted) -> tuple[list[int], int]:
    """Return a row's yields and worth, shifted until all that can be cut adds up in 64 bits."""
    most = max(row.yields, default=0) * max(1, wanted.pieces) * len(row.yields)
    shift = max(0, max(most, abs(row.worth)).bit_length() - SUMMED_BITS)
    if wanted.up:
        return [-(-worth >> shift) for worth in row.yields], row.worth >> shift
    return [worth >> shift for worth in row.yields], -(-row.worth >> shift)


def _offer(row: StockLength, level: int, capacity: int, unit: int, kept: Fraction) -> Offer:
    """Return what numbers of a length cost within ``capacity``, where ``level`` sticks of all lengths are bought.

    Each counts for what it is worth less when it is ``kept`` whole: what is cut of it can only make it dearer.
    """
    if row.breaks_count is BreaksCount.MATERIAL:
        steps = [(0, *prices_at(row, level, level))]
    else:
        steps = [(at, *prices_at(row, at, at)) for at in (0, *(step.sticks for step in row.breaks))]
    size, fixed = row.carton or 1, int(row.fixed_cost * unit)
    steps = [(at, stick - kept, carton - kept * size) for at, stick, carton in steps]
    least = min(min(int(stick * unit), int(carton * unit) // size) for _, stick, carton in steps)
    top = capacity // max(1, least) + size
    top = top if row.available is None else min(top, row.available)
    if top > MOST_STICKS or least <= 0:
        raise TooLargeToCheck("too many sticks for a sum")
    counts = np.arange(top + 1, dtype=np.int64)
    sums = np.full(top + 1, NO_SUM, np.int64)
    for at, stick, carton in steps:
        packed = _packed(row, counts, int(stick * unit), int(carton * unit))
        np.minimum(sums, np.where(counts >= at, packed, NO_SUM), out=sums)
    sums = np.minimum(np.where(counts > 0, sums + fixed, 0), NO_SUM)
    cheapest = np.minimum.accumulate(sums[::-1])[::-1]
    rises = np.append(cheapest[1:] > cheapest[:-1], True) & (cheapest <= capacity)
    return Offer(counts[rises], cheapest[rises])


def _packed(row: StockLength, counts: Ints, stick: int, carton: int) -> Ints:
    """Return what so many sticks cost, cartons being whole."""
    if row.carton is None:
        return counts * stick
    whole, rest = np.divmod(counts, row.carton)
    if not row.singles:
        return np.where(rest > 0, NO_SUM, whole * carton)
    return np.asarray(np.minimum(counts * stick, whole * carton + rest * stick))
