"""Plans on buying terms against a program of cutting and buying as a whole, put to two other solvers."""

from __future__ import annotations

import pytest

from tests.outside.purchase_program import Compared, compared, small_job

SAMPLE = range(900, 912)
"""Lists compared here; ``python -m tests.outside.purchase_program 300`` compares more."""


@pytest.mark.parametrize("number", SAMPLE)
def test_the_bill_is_the_least_there_is(number: int) -> None:
    """Each list's bill is what the program finds, and is proven."""
    assert compared(small_job(number)) == Compared(closed=True, proven=True, wrong="")
