"""Sums that can be made, by hand."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from solver.cutting.reachable import Costs, halves, largest_sums, least_cover, reachable_sums


def test_halves_make_every_number_of_copies() -> None:
    """1, 2, 4 and 3 sum to everything from 0 to 10, and to nothing above."""
    assert list(halves(10)) == [1, 2, 4, 3]


def test_sums_are_bits() -> None:
    """One 3 and two 5s make 0, 3, 5, 8, 10 and 13."""
    assert reachable_sums([(3, 1), (5, 2)], 13) == sum(1 << s for s in (0, 3, 5, 8, 10, 13))


def test_a_stick_shrinks_to_the_largest_sum() -> None:
    """Two pieces of 40 and one of 30 fill 80 of a stick of 85, 70 of 75, 30 of 39, and nothing of 7."""
    assert largest_sums([(40, 2), (30, 1)], [85, 75, 39, 7]) == [80, 70, 30, 0]


def test_sticks_as_long_as_is_wanted_cost_more_than_their_best_price_a_length() -> None:
    """At 9.80 for 150 and 13.00 for 192, 16.24 buy 248 if cut to measure; 19.60 is the least that whole sticks do."""
    sticks = [(980, 150, None), (1300, 192, None)]
    assert (least_cover(sticks, 248, 5000), least_cover(sticks, 301, 5000)) == (1960, 2280)
    assert (least_cover([(980, 150, 1), (1300, 192, 1)], 343, 5000), least_cover(sticks, 10, 10**10)) == (5001, None)


@given(
    st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9), st.integers(0, 3)), min_size=1, max_size=3),
    st.integers(1, 40),
)
@settings(max_examples=50)
def test_nothing_that_is_long_enough_costs_less(sticks: list[tuple[int, int, int]], length: int) -> None:
    """All numbers of up to three sticks of up to three kinds are tried."""
    every = product(*(range(limit + 1) for _, _, limit in sticks))
    bought = [[sum(n * stick[k] for n, stick in zip(counts, sticks, strict=True)) for k in (0, 1)] for counts in every]
    assert least_cover(sticks, length, 99) == min((cost for cost, long in bought if long >= length), default=100)


def test_a_bound_is_lifted_to_what_sticks_can_cost() -> None:
    """Sticks of 6 and 10 make 0, 6, 10, 12, 16, ...: a bound of 13 stands for 16."""
    assert Costs.of([(6, None), (10, None)], 100).lift(13) == 16


def test_a_limit_on_sticks_lifts_further() -> None:
    """With one stick of 10 and two of 6, the costs after 16 are 22 and no more."""
    costs = Costs.of([(6, 2), (10, 1)], 22)
    assert (costs.lift(17), costs.lift(23)) == (22, 23)


def test_sticks_that_cost_nothing_change_nothing() -> None:
    """An offcut on hand is no step towards a cost."""
    assert Costs.of([(6, None), (0, 1)], 30).lift(7) == 12


def test_costs_too_many_to_list_still_have_a_common_divisor() -> None:
    """Above the most that is listed, a bound is lifted to the next multiple of the divisor."""
    assert Costs.of([(300, None), (200, None)], 10**11).lift(10**10 + 1) == 10**10 + 100
