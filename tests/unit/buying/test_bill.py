"""The cheapest purchase of given sticks: against every purchase there is."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from solver.buying.bill import asked, cheapest
from solver.buying.terms import Sold, Terms, Tier


@st.composite
def lengths(draw: st.DrawFn) -> Sold:
    """Draw how one length is sold: up to two breaks, cartons of up to four."""
    size = draw(st.integers(1, 4))
    singles = size == 1 or draw(st.booleans())
    single, carton = draw(st.integers(1, 9)), draw(st.integers(1, 30))
    tiers = [Tier(0, single if singles else None, carton)]
    for at in sorted(draw(st.sets(st.integers(2, 5), max_size=2))):
        single, carton = draw(st.integers(0, single)), draw(st.integers(0, carton))
        tiers.append(Tier(at, single if singles else None, carton))
    limit = draw(st.none() | st.integers(0, 9))
    return Sold(tuple(tiers), size, draw(st.integers(0, 5)), limit, together=False)


@st.composite
def terms(draw: st.DrawFn) -> Terms:
    """Draw one or two lengths, in some the breaks counting all."""
    sold = draw(st.lists(lengths(), min_size=1, max_size=2))
    together = draw(st.booleans())
    share = draw(st.sampled_from([Fraction(0), Fraction(1, 10), Fraction(1, 2)]))
    all_of_them = (Sold(s.tiers, s.size, s.fixed, s.limit, together) for s in sold)
    return Terms(tuple(all_of_them), share)


def _by_listing(offer: Terms, wanted: tuple[int, ...]) -> int | None:
    """Return the least bill of all purchases of at least so many sticks."""
    ways = [list(product(range(7), range(9 if sold.tiers[0].single is not None else 1))) for sold in offer.lengths]
    bills = []
    for packs in product(*ways):
        sticks = [c * sold.size + s for (c, s), sold in zip(packs, offer.lengths, strict=True)]
        fits = (sold.limit is None or n <= sold.limit for n, sold in zip(sticks, offer.lengths, strict=True))
        if all(n >= least for n, least in zip(sticks, wanted, strict=True)) and all(fits):
            bills.append(sum(_bill(sold, c, s, sum(sticks)) for (c, s), sold in zip(packs, offer.lengths, strict=True)))
    return min(bills, default=None)


def _bill(sold: Sold, cartons: int, singles: int, every: int) -> int:
    own = cartons * sold.size + singles
    tier = [tier for tier in sold.tiers if tier.at <= (every if sold.together else own)][-1]
    return cartons * tier.carton + singles * (tier.single or 0) + (sold.fixed if own else 0)


def test_a_break_far_away_is_reached_with_one_length() -> None:
    """From a million sticks on they cost nothing: all that are missing are bought of the length needed anyway."""
    far = tuple(Sold((Tier(0, 5, 5), Tier(10**6, 0, 0)), 1, fixed, None, together=True) for fixed in (0, 3))
    found = cheapest(Terms(far), (2, 0))
    assert found is not None
    assert (found.cost, found.sticks) == (0, (10**6, 0))


@given(terms(), st.lists(st.integers(0, 4), min_size=2, max_size=2))
@settings(max_examples=60, deadline=None)
def test_no_purchase_is_cheaper(offer: Terms, counts: list[int]) -> None:
    """What is bought gives the sticks wanted, and nothing that does costs less."""
    sticks = tuple(counts[: len(offer.lengths)])
    found = cheapest(offer, sticks)
    least = _by_listing(offer, asked(offer, sticks))
    assert (found.cost if found else None) == least
    if found:
        assert all(n >= wanted for n, wanted in zip(found.sticks, asked(offer, sticks), strict=True))
