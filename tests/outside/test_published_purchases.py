"""Purchases found in print, and published examples of several lengths, through the buying of cartons and sticks."""

from __future__ import annotations

import time
from decimal import Decimal

import pytest

from solver.buying import purchase
from solver.buying.terms import Sold, Terms, Tier
from solver.categories import DEFAULTS, Category
from solver.cutting import Cutting
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.planning import plan_job
from solver.required import Required
from solver.watch import Watch
from tests.outside.worked_examples import ALL, Example
from tests.scenario import inches

SEVERAL = [example for example in ALL if len(example.sticks) > 1]


@pytest.mark.parametrize(
    ("panels", "carton", "cartons"),
    [
        # reference.com, on squares in a box: 1,600 sq ft, with two squares more, are nine boxes of two squares or
        # eighteen of one. A two-square carton of 16 panels, 12 in by 12'-6" (todayshomeowner.com, How much siding do
        # I need), or a one-square carton of 12, 8 in by 12'-6" (a product page).
        (18 * 8, 16, 9),
        (18 * 12, 12, 18),
        # hunker.com/12003283: two gables of 12 ft by 12 ft, 216 sq ft by its rule, need a little more than one box of
        # 200 sq ft. Panels of 12.5 sq ft: 17.28, so 18, and whole boxes are two (our arithmetic).
        (18, 16, 2),
    ],
)
def test_squares_are_bought_by_the_box(panels: int, carton: int, cartons: int) -> None:
    """Every panel whole, in boxes alone."""
    row = StockLength("box", inches(150), price=Decimal(10), carton=carton, singles=False)
    material = Material("panel", Category.OTHER, (row,), DEFAULTS[Category.OTHER])
    job = Job("squares", Unit.IN, (material,), (Required("A", "panel", inches(150), panels),))
    plan = plan_job(job, time.monotonic)
    (line,), (part,) = plan.order, plan.materials
    assert (line.cartons, line.loose, line.spares) == (cartons, 0, cartons * carton - panels)
    assert part.proven


@pytest.mark.parametrize("example", SEVERAL, ids=lambda example: example.name)
def test_several_lengths_are_bought_at_the_published_cost(example: Example) -> None:
    """By the stick, at what the source says or at its length, the lowest bill is the best cost, proven."""
    found = bought(example, 1)
    assert (found.cost, found.bound, any(found.uncut)) == (example.optimum, example.optimum, False)


@pytest.mark.parametrize("example", SEVERAL, ids=lambda example: example.name)
def test_by_the_pair_no_bill_is_lower_than_by_the_stick(example: Example) -> None:
    """In twos at twice the price it is at least as much, and at most the sticks of the best plan, each length even."""
    found = bought(example, 2)
    assert example.optimum <= found.bound <= found.cost <= example.optimum + sum(cost for _, cost in example.sticks)


def bought(example: Example, size: int) -> Cutting:
    """Return the plan with every length sold in cartons of this size, at the price of its sticks."""
    sold = tuple(
        Sold((Tier(0, cost if size == 1 else None, size * cost),), size, 0, None, together=False)
        for _, cost in example.sticks
    )
    return purchase.buy(purchase.Material(example.problem(), Terms(sold)), Watch(time.monotonic, time.monotonic() + 20))
