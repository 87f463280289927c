"""Plans on buying terms against a program of cutting and buying as a whole, put to two other solvers."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from solver.job import Job
from tests.outside.purchase_lists import sawn_job, small_job
from tests.outside.purchase_program import Compared, compared

SAMPLE = [*((small_job, number) for number in range(900, 906)), *((sawn_job, number) for number in range(900, 906))]
"""Lists compared here; ``python -m tests.outside.purchase_program 300`` and ``... 300 0 sawn`` compare more."""


@pytest.mark.parametrize(("of", "number"), SAMPLE)
def test_the_bill_is_the_least_there_is(of: Callable[[int], Job], number: int) -> None:
    """Each list's bill is what the program finds, and is proven; the second half counts cuts and offcuts too."""
    assert compared(of(number)) == Compared(closed=True, proven=True, wrong="")
