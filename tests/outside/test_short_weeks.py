"""Weeks of many short pieces to a stick, held against a whole model that knows no patterns."""

from __future__ import annotations

import pytest

from solver.checking.week import check_week
from tests.outside.short_week_program import least_bill
from tests.support.short_weeks import short_week
from tests.support.weeks import MONDAY, planned


@pytest.mark.parametrize("carry", [4, 2, 1])
@pytest.mark.parametrize("seed", [*range(4), 7, 38, 56])
def test_the_bill_of_short_pieces_is_the_least(seed: int, carry: int) -> None:
    """Every one of these has too many dated patterns to list them; they are cut from the cheapest sticks that do."""
    asked = short_week(seed, carry)
    plan = planned(asked)
    assert (plan.bill, plan.proven) == (least_bill(asked), True)
    assert not check_week(asked, MONDAY, plan)
