"""Sums that can be made, by hand."""

from __future__ import annotations

from solver.cutting.reachable import Costs, halves, largest_sums, reachable_sums


def test_halves_make_every_number_of_copies() -> None:
    """1, 2, 4 and 3 sum to everything from 0 to 10, and to nothing above."""
    assert list(halves(10)) == [1, 2, 4, 3]


def test_sums_are_bits() -> None:
    """One 3 and two 5s make 0, 3, 5, 8, 10 and 13."""
    assert reachable_sums([(3, 1), (5, 2)], 13) == sum(1 << s for s in (0, 3, 5, 8, 10, 13))


def test_a_stick_shrinks_to_the_largest_sum() -> None:
    """Two pieces of 40 and one of 30 fill 80 of a stick of 85, 70 of 75, 30 of 39, and nothing of 7."""
    assert largest_sums([(40, 2), (30, 1)], [85, 75, 39, 7]) == [80, 70, 30, 0]


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
