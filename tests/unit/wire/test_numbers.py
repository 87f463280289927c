"""Numbers as JSON has them."""

from __future__ import annotations

import pytest

from service.wire.numbers import exact_number


@pytest.mark.parametrize("zero", [0, 0.0, -0.0])
def test_there_is_one_zero(zero: float) -> None:
    """A price of -0.0 would be written with its sign, which no request may have."""
    assert str(exact_number(zero)) == "0"
