"""From sticks to an order: which packs are taken, by hand."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.order import cartons_of
from solver.required import Required
from tests.scenario import inches


def row(**changes: object) -> StockLength:
    """Return a row sold singly at 9.80 and in cartons of four at no price of their own."""
    return replace(StockLength("12-6", inches(150), price=Decimal("9.80"), carton=4), **changes)  # type: ignore[arg-type]


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


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ((row(), row()), ""),
        ((row(), row(carton_price=Decimal(40))), "priced"),
        ((row(), row(singles=False)), "rounded up"),
        ((row(), row(singles=False, available=0)), ""),
        ((row(), row(carton_price=Decimal(40), available=0)), ""),
        ((row(carton_price=Decimal(40)), row(singles=False)), "rounded up"),
    ],
)
def test_what_cartons_do_to_a_bill_is_said_where_one_row_that_can_be_had_does_it(
    rows: tuple[StockLength, ...], said: str
) -> None:
    """The cost of single panels is then not what the supplier's bill says, and sheet and page must say so."""
    named = tuple(replace(one, id=f"r{number}") for number, one in enumerate(rows))
    assert cartons_of(Material("panel", Category.SIDING, named, DEFAULTS[Category.SIDING])) == said
