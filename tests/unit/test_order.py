"""From sticks to an order: which packs are taken, by hand."""

from __future__ import annotations

import time
from decimal import Decimal

import pytest

from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.required import Required
from tests.scenario import inches


@pytest.mark.parametrize(("carton_price", "packs"), [("29.39", (1, 0)), ("29.40", (1, 0)), ("29.41", (0, 3))])
def test_a_carton_is_taken_at_the_price_of_the_loose_panels(carton_price: str, packs: tuple[int, int]) -> None:
    """Three panels at 9.80 are 29.40 loose: a carton of four for as much leaves a panel in hand for nothing.

    A cent dearer, and the loose ones are bought. Common practice, no source.
    """
    row = StockLength("12-6", inches(150), price=Decimal("9.80"), carton=4, carton_price=Decimal(carton_price))
    panel = Material("panel", Category.SIDING, (row,), DEFAULTS[Category.SIDING])
    job = Job("the lean-to", Unit("in"), (panel,), (Required("A", "panel", inches(100), 3),))
    (line,) = plan_job(job, time.monotonic).order
    assert ((line.cartons, line.loose), line.amount) == (packs, min(Decimal(carton_price), Decimal("29.40")))
