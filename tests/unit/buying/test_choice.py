"""The program over purchases: nothing that can be bought is cheaper than it says."""

from __future__ import annotations

import time
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.buying.bill import NEVER, cheapest
from solver.buying.choice import Choice, Kinds
from solver.buying.terms import Sold, Terms, Tier
from solver.watch import Watch
from tests.unit.buying.test_bill import lengths


def least(offer: Terms, sticks: tuple[int, ...]) -> int:
    """Return the program's bound on the bill of at least so many sticks cut of each length."""
    own, choice = tuple(range(len(sticks))), Choice()
    choice.add(offer, Kinds(own, (0,) * len(sticks)), sum(sticks)).at_least(sticks)
    return choice.cheapest(NEVER, Watch(time.monotonic, time.monotonic() + 60))[0]


def sold(*tiers: Tier, limit: int | None = None, together: bool = False) -> Sold:
    """Return a length that is sold by the stick, without fixed costs."""
    return Sold(tiers, 1, 0, limit, together)


FIVE = sold(Tier(0, 5, 5), limit=5)


@pytest.mark.parametrize(
    ("offer", "sticks", "bill"),
    [
        # ten at 100 are 1000; with forty of the other at 1 they are fifty, and then 2 each
        (Terms((sold(Tier(0, 1, 1)), sold(Tier(0, 100, 100), Tier(50, 2, 2), together=True))), (0, 10), 40 + 20),
        # two and ten spares, of which three can be had
        (Terms((FIVE,), extra=10), (2,), 25),
        # all ten are cut, and ten spares asked for
        (Terms((FIVE, FIVE), Fraction(1)), (5, 5), 50),
        # nothing is cut, so that nothing is spare
        (Terms((FIVE,), Fraction(1, 2), 1), (0,), 0),
    ],
    ids=["a break reached with another length", "fewer than the spares", "none for spares", "no sticks"],
)
def test_by_hand(offer: Terms, sticks: tuple[int, ...], bill: int) -> None:
    """Each case says what is bought."""
    assert least(offer, sticks) == bill


@given(st.data(), st.lists(lengths(), min_size=1, max_size=3))
@settings(max_examples=40, deadline=None)
def test_no_purchase_is_cheaper_than_the_bound(data: st.DataObject, drawn: list[Sold]) -> None:
    """Whatever breaks count, and however many spares are asked for."""
    mixed = tuple(replace(each, together=data.draw(st.booleans())) for each in drawn)
    share = data.draw(st.sampled_from([Fraction(0), Fraction(1, 10), Fraction(1)]))
    offer = Terms(mixed, share, data.draw(st.sampled_from([0, 1, 12])))
    sticks = tuple(data.draw(st.integers(0, 4)) for _ in mixed)
    found = cheapest(offer, sticks)
    assert found is None or least(offer, sticks) <= found.cost
