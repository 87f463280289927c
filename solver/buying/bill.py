"""The cheapest purchase that gives at least so many sticks of each length, and its bill.

Each length by itself takes whole cartons first where they cost no more than their sticks, and the rest as singles or
as one more carton. Each price row is tried as if its number had to be reached. Rows that count all lengths are tried
one after the other too: what is missing to reach one is bought where it costs least, which is a knapsack over the
sticks that are missing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.buying.terms import Sold, Terms, Tier

NEVER = 2**62
"""What can't be had costs so much."""


@dataclass(frozen=True, slots=True, order=True)
class Bought:
    """What is bought of one length: its cost without ``fixed``, the sticks that come, cartons and singles."""

    cost: int
    sticks: int
    cartons: int
    singles: int


@dataclass(frozen=True, slots=True)
class Purchase:
    """What is bought of every length, and what all of it costs."""

    cost: int
    bought: tuple[Bought, ...]

    @property
    def sticks(self) -> tuple[int, ...]:
        """How many sticks of each length come."""
        return tuple(each.sticks for each in self.bought)


MOST_MISSING = 300
"""Where more sticks than this are missing to a break, they are all bought of one length."""

NOTHING = Bought(0, 0, 0, 0)


def asked(terms: Terms, sticks: Sequence[int]) -> tuple[int, ...]:
    """Return how many of each length are wanted with the spares, which are of the length used most.

    There are fewer spares where there are no more to be had.
    """
    spares, wanted = terms.spares(sum(sticks)), list(sticks)
    if spares:
        used = max(range(len(sticks)), key=lambda k: sticks[k])
        most = terms.lengths[used].most
        wanted[used] += spares if most is None else max(0, min(spares, most - wanted[used]))
    return tuple(wanted)


def cheapest(terms: Terms, sticks: Sequence[int]) -> Purchase | None:
    """Return the cheapest purchase for so many sticks cut and their spares; None where they can't be had."""
    wanted = asked(terms, sticks)
    found = [_at_level(terms, wanted, level) for level in terms.levels]
    return min((each for each in found if each is not None), key=lambda each: each.cost, default=None)


def _at_level(terms: Terms, wanted: Sequence[int], level: int) -> Purchase | None:
    """Return the cheapest purchase of at least ``level`` sticks, at the prices that so many have."""
    ways = [_at_least(sold, n, level) for sold, n in zip(terms.lengths, wanted, strict=True)]
    bought: Sequence[Bought] = [way for way in ways if way is not None]
    if len(bought) < len(ways):
        return None
    if sum(each.sticks for each in bought) < level:
        bought = _with_more(terms, wanted, level)
    fixed = sum(sold.fixed for sold, each in zip(terms.lengths, bought, strict=False) if each.sticks)
    return Purchase(sum(each.cost for each in bought) + fixed, tuple(bought)) if bought else None


def _with_more(terms: Terms, wanted: Sequence[int], level: int) -> Sequence[Bought]:
    """Buy sticks up to ``level`` where they cost least beyond what is wanted; nothing where there are too few."""
    missing = level - sum(wanted)
    if missing > MOST_MISSING:
        return _of_one(terms, wanted, missing, level)
    best: list[tuple[int, tuple[Bought, ...]] | None] = [(0, ())] + [None] * missing
    for sold, n in zip(terms.lengths, wanted, strict=True):
        ways = [_at_least(sold, n + more, level) for more in range(missing + 1)]
        before, best = best, [None] * (missing + 1)
        for have, known in enumerate(before):
            for way in ways if known else ():
                if way is None or known is None:
                    break
                cost = known[0] + way.cost + (sold.fixed if way.sticks else 0)
                reached = min(missing, have + max(0, way.sticks - n))
                old = best[reached]
                if old is None or cost < old[0]:
                    best[reached] = (cost, (*known[1], way))
    return best[-1][1] if best[-1] else ()


def _of_one(terms: Terms, wanted: Sequence[int], missing: int, level: int) -> Sequence[Bought]:
    """Buy all that is missing of one length, the one where that costs least."""
    found = []
    for more in range(len(wanted)):
        ways = [
            _at_least(sold, n + missing * (k == more), level)
            for k, (sold, n) in enumerate(zip(terms.lengths, wanted, strict=True))
        ]
        bought = [way for way in ways if way is not None]
        if len(bought) == len(ways):
            fixed = sum(sold.fixed for sold, way in zip(terms.lengths, bought, strict=True) if way.sticks)
            found.append((sum(way.cost for way in bought) + fixed, bought))
    return min(found, key=lambda each: each[0])[1] if found else ()


def _at_least(sold: Sold, sticks: int, level: int) -> Bought | None:
    """Return the cheapest way to at least so many sticks of one length."""
    if not sticks:
        return NOTHING
    tiers = sold.tiers
    if sold.together:
        reached = [tier for tier in tiers if tier.at <= level]
        return _by(sold, reached[-1], sticks)
    ways = (_by(sold, tier, max(sticks, tier.at)) for tier in tiers)
    return min((way for way in ways if way is not None), default=None)


def _by(sold: Sold, tier: Tier, sticks: int) -> Bought | None:
    """Return the cheapest way to at least so many sticks by one price row; equally dear, a carton before loose ones."""
    if tier.single is None:
        singles, whole = 0, -(-sticks // sold.size)
    elif tier.carton > tier.single * sold.size or (sold.size == 1 and tier.carton == tier.single):
        singles, whole = sticks, 0
    else:
        whole, singles = divmod(sticks, sold.size)
        fits = sold.limit is None or (whole + 1) * sold.size <= sold.limit
        if singles and fits and tier.carton <= singles * tier.single:
            whole, singles = whole + 1, 0
    bought = whole * sold.size + singles
    if sold.limit is not None and bought > sold.limit:
        return None
    return Bought(whole * tier.carton + singles * (tier.single or 0), bought, whole, singles)
