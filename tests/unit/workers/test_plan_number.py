"""Numbers of plans: digits that can be said, none twice, and none that a slip of the pen makes another's."""

from __future__ import annotations

from itertools import pairwise

import pytest

from workers.orders.plan_number import number_of, serial_of

SOME = [*range(1, 400), 89_999, 90_000, 90_001, 1_234_567]


def test_numbers_begin_with_six_digits_and_grow() -> None:
    """The first 90,000 plans have six digits, later ones seven."""
    assert [len(number_of(serial)) for serial in (1, 90_000, 90_001)] == [6, 6, 7]


def test_each_stands_for_its_own_serial_number() -> None:
    """No two are the same, and each is read back, written with spaces or dashes too."""
    numbers = [number_of(serial) for serial in SOME]
    assert [serial_of(number) for number in numbers] == SOME
    assert serial_of(f" No. {numbers[7][:3]} {numbers[7][3:]}") == SOME[7]
    assert serial_of(f"#{numbers[7][:3]}-{numbers[7][3:]}") == SOME[7]


def test_one_wrong_digit_makes_no_other_number() -> None:
    """Every single digit replaced by every other one."""
    for number in map(number_of, SOME):
        for place, right in enumerate(number):
            wrong = [number[:place] + digit + number[place + 1 :] for digit in "0123456789" if digit != right]
            assert [serial_of(other) for other in wrong] == [None] * 9


def test_two_neighbours_swapped_make_no_other_number() -> None:
    """Every pair of neighbours that differ."""
    for number in map(number_of, SOME):
        for place, (one, two) in enumerate(pairwise(number)):
            assert one == two or serial_of(number[:place] + two + one + number[place + 2 :]) is None


@pytest.mark.parametrize("written", ["", "1", "12345", "A100009", "1000090000000", "000000", "10000९"])
def test_what_is_no_number_stands_for_nothing(written: str) -> None:
    """Too short, too long, letters, or digits of another script."""
    assert serial_of(written) is None
