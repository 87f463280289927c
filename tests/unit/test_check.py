"""The checker accepts right plans of the porch and its variants, and refuses each with one thing wrong."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.check import check
from solver.plan import CutPlan, MaterialPlan
from tests import plans, scenario

VARIANTS = (
    "porch", "with_kerf", "with_offcuts", "with_two_lengths", "with_limited_stock", "with_spares", "with_cartons",
    "with_metric", "without_prices",
)  # fmt: skip


@pytest.mark.parametrize("variant", VARIANTS)
def test_accepts_a_right_plan(variant: str) -> None:
    """Each hand-made plan is right for its variant of the porch."""
    assert check(getattr(scenario, variant)(), getattr(plans, variant)()) == ()
