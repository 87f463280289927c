"""Price breaks as they are typed at the counter, and back."""

from __future__ import annotations

from decimal import Decimal

import pytest

from service.wire.materials.breaks import breaks_of, typed_breaks
from solver.materials import PriceBreak


def test_breaks_are_typed_as_they_are_told() -> None:
    """What is shown of a stored row means the same when it is sent back."""
    breaks = (PriceBreak(10, Decimal("8.50")), PriceBreak(24, Decimal("8.10"), Decimal("77.00")))
    text = typed_breaks(breaks)
    assert text == "10 at 8.50; 24 at 8.10, carton 77.00"
    told = [{"sticks": 10, "price": "8.50"}, {"sticks": 24, "price": "8.10", "carton_price": "77.00"}]
    assert breaks_of(text) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", []),
        (" ; ", []),
        ("from 10 at 8.50 carton 90", [{"sticks": 10, "price": "8.50", "carton_price": "90"}]),
        ("ten at 8", [{"sticks": "ten", "price": "8"}]),
        ("cheaper", [{"sticks": "cheaper", "price": "0"}]),
    ],
)
def test_what_is_no_break_is_left_to_be_refused(text: str, told: list[dict[str, object]]) -> None:
    """Words in the place of a number are refused with the field that they stand in."""
    assert breaks_of(text) == told
