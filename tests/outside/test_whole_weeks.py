"""Weeks of each kind, held against a whole model that knows no patterns."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.outside.whole_week import compared
from tests.support.short_weeks import short_week
from tests.support.week_kinds import KINDS, Asked
from tests.support.weeks import planned

BEYOND = [("runs", 13), ("runs_with_rack", 27), ("cartons", 38), ("short_cartons", 10)]
SAMPLE = [*((kind, 0) for kind in KINDS), *BEYOND]
"""Weeks compared here; ``python -m tests.outside.whole_week KIND 100`` compares more."""


@pytest.mark.parametrize("carry", [4, 2, 1])
@pytest.mark.parametrize("seed", [0, 1, 38, 56])
def test_the_bill_of_short_pieces_is_the_least(seed: int, carry: int) -> None:
    """Every one of these has too many dated patterns to list them; they are cut from the cheapest sticks that do."""
    found = compared(Asked(short_week(seed, carry)))
    assert (found.bill, found.proven, found.wrong) == (found.best, True, "")


@pytest.mark.parametrize(("kind", "seed"), SAMPLE)
def test_the_bill_is_the_least_there_is(kind: str, seed: int) -> None:
    """The model finds no cheaper week, and nothing is wrong with the plan or its bound."""
    found = compared(KINDS[kind](seed))
    assert (found.bill, found.wrong) == (found.best, "")


def test_a_day_is_laid_dearer_for_another_s_sake() -> None:
    """The model's bill; with each day laid for itself it was 72.00. A second night changes nothing."""
    asked = KINDS["runs"](53)
    plan = planned(asked.week, asked.moment)
    second = planned(asked.week, replace(asked.moment, announced=plan))
    assert (plan.bill, second.bill, second.changes) == (Decimal("69.80"), Decimal("69.80"), 0)
