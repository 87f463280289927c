"""Sticks of a week cut anew, by hand: nine pieces of 6 out of one stick of 90, or of nine of 10."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations_with_replacement, count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.buying.bill import cheapest
from solver.buying.terms import Sold, Terms, Tier
from solver.cutting import solve
from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly import recutting
from solver.weekly.patterns import stick_sets
from solver.weekly.patterns.stick_sets import CheaperSets, Offered
from solver.weekly.purchased import Purchased
from solver.weekly.recutting import Recutting
from solver.weekly.timed import Supply, TimedPiece, TimedProblem

PATIENT = Watch(lambda: 0.0, 60.0)
WHOLE = {Pattern(1, (0,) * 9): 1}


def nine(short: int, long: int) -> TimedProblem:
    """Return the problem where a stick of 10 costs ``short`` and one of 90 ``long``."""
    lengths = ((10, short), (90, long))
    supplies = tuple(Supply(length, cost, None, left=True, right=True, first=0) for length, cost in lengths)
    return TimedProblem(supplies, (TimedPiece(6, 9, left=False, right=False, day=0),), 0, 0)


def sold(problem: TimedProblem, carton: int = 1) -> Purchased:
    """Return the terms of sticks that come by the carton alone, at their prices."""
    lengths = (Sold((Tier(0, None, s.cost * carton),), carton, 0, None, together=False) for s in problem.supplies)
    return Purchased(Terms(tuple(lengths)), solve(problem.relaxed(), PATIENT), (9, 0))


@pytest.mark.parametrize("billed", [False, True])
@pytest.mark.parametrize(("long", "least"), [(18, True), (19, False)])
def test_a_plan_dearer_than_nine_sticks_is_not_the_least(long: int, *, billed: bool, least: bool) -> None:
    """Two 6s don't come out of 10, so no eight sticks do, and with one of 90 they cost no less; but nine are 18."""
    problem = nine(2, long)
    asked = Recutting(problem, {}, PATIENT, sold(problem) if billed else None)
    assert (asked.cheaper(WHOLE, 0), asked.least) == (WHOLE, least)


@pytest.mark.parametrize("billed", [False, True])
def test_where_sets_are_too_many_nothing_is_the_least(monkeypatch: pytest.MonkeyPatch, *, billed: bool) -> None:
    """The plan for 18 is the least, but not all sets of up to eight are looked at."""
    monkeypatch.setattr(stick_sets, "LOOKED_AT", 1)
    problem = nine(2, 18)
    asked = Recutting(problem, {}, PATIENT, sold(problem) if billed else None)
    assert (asked.cheaper(WHOLE, 0), asked.least) == (WHOLE, False)


def test_no_more_bills_are_worked_out_once_time_is_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty lengths by the carton make three million sets of eight sticks; the watch stops when it is first asked."""
    bills = count()

    def billed(terms: Terms, sticks: tuple[int, ...]) -> object:
        next(bills)
        return cheapest(terms, sticks)

    monkeypatch.setattr(recutting, "cheapest", billed)
    supplies = tuple(Supply(100 + n, 100 + n, None, left=True, right=True, first=0) for n in range(20))
    problem = TimedProblem(supplies, (TimedPiece(60, 20, left=False, right=False, day=0),), 0, 0)
    asked = Recutting(problem, {}, Watch(lambda: 1.0, 0.0), sold(problem, 6))
    assert asked.cheaper({Pattern(19, (0,)): 20}, 0) == {Pattern(19, (0,)): 20}
    assert not asked.least
    assert next(bills) < 10


OFFERED = st.lists(st.tuples(st.integers(1, 9), st.integers(0, 9), st.none() | st.integers(0, 3)), max_size=3)


@given(OFFERED, st.integers(1, 3), st.integers(0, 20), st.integers(0, 40), st.integers(0, 4))
def test_cheaper_sets_are_those_among_all(
    offered: list[tuple[int, int, int | None]], carton: int, below: int, wanted: int, beside: int
) -> None:
    """By the carton, beside so many sticks of the first length: in the order of what they cost, the longest first."""
    kinds = [Offered(n, length, Fraction(least), limit) for n, (length, least, limit) in enumerate(offered)]

    def price(sticks: Sequence[int]) -> int:
        counts = Counter(sticks) + Counter({0: beside} if kinds else {})
        return sum(-(-n // carton) * carton * offered[k][1] for k, n in counts.items())

    every = (s for n in range(4) for s in combinations_with_replacement(range(len(kinds)), n))
    had = (s for s in every if all((kinds[k].limit or 0) >= n or kinds[k].limit is None for k, n in Counter(s).items()))
    known = [(price(s), -sum(kinds[k].length for k in s), len(s), s) for s in had]
    expected = [(cost, s) for cost, length, _, s in sorted(known) if cost < below and -length >= wanted]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(stick_sets, "STICKS", 3)
        sets = CheaperSets(kinds, price, below, wanted, Fraction(beside * offered[0][1] if kinds else 0))
        assert list(sets.found(PATIENT)) == expected
    assert sets.all
