"""Whether a cheaper purchase could do, as the checker finds it: against every purchase there is."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.checking import check
from solver.checking.bills import prices_at
from solver.checking.knapsack import Row
from solver.checking.purchases import Wanted, any_purchase
from solver.job import Job
from solver.lengths import Unit
from solver.materials import BreaksCount, Material, PriceBreak, StockLength
from solver.required import Required
from tests.scenario import inches

MOST = 8
"""More sticks of a length than any of these sums buys."""


@st.composite
def stock(draw: st.DrawFn) -> tuple[StockLength, ...]:
    """Draw two lengths with cartons, breaks, fixed costs and limits."""
    together = draw(st.sampled_from(list(BreaksCount)))
    rows = []
    for name in ("a", "b"):
        carton = draw(st.none() | st.integers(2, 4))
        price = draw(st.integers(2, 9))
        breaks = [PriceBreak(draw(st.integers(2, 5)), Decimal(draw(st.integers(1, price))))] * draw(st.integers(0, 1))
        row = StockLength(name, inches(100), price=Decimal(price), carton=carton, breaks=tuple(breaks))
        singles = carton is None or draw(st.booleans())
        available = draw(st.none() | st.integers(0, MOST))
        fixed = Decimal(draw(st.integers(0, 4)))
        rows.append(replace(row, singles=singles, available=available, fixed_cost=fixed, breaks_count=together))
    return tuple(rows)


def _cheapest(rows: tuple[StockLength, ...], wanted: Wanted) -> Fraction | None:
    """Return the least bill of all purchases worth enough by every row."""
    bills = []
    packs = [list(product(range(MOST // (row.carton or 1) + 1 if row.carton else 1), range(MOST + 1))) for row in rows]
    for chosen in product(*packs):
        sticks = [c * (row.carton or 0) + s for (c, s), row in zip(chosen, rows, strict=True)]
        sold = all(row.singles or not s for (_, s), row in zip(chosen, rows, strict=True))
        there = all(row.available is None or n <= row.available for n, row in zip(sticks, rows, strict=True))
        cut = [min(n, wanted.pieces) for n in sticks]
        worth = all(sum(y * n for y, n in zip(row.yields, cut, strict=True)) >= row.worth for row in wanted.rows)
        if sold and there and worth:
            bills.append(sum(_paid(*each, sum(sticks)) for each in zip(rows, chosen, sticks, strict=True)))
    return Fraction(min(bills)) if bills else None


def _paid(row: StockLength, chosen: tuple[int, int], own: int, every: int) -> Fraction:
    stick, carton = prices_at(row, own, every)
    return chosen[0] * carton + chosen[1] * stick + (Fraction(row.fixed_cost) if own else 0)


@given(stock(), st.lists(st.tuples(st.integers(1, 9), st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=2))
@settings(max_examples=60, deadline=None)
def test_a_cheaper_purchase_is_found_where_there_is_one(
    rows: tuple[StockLength, ...], asked: list[tuple[int, int, int]]
) -> None:
    """Below the least bill nothing is found, and just above it something is."""
    wanted = Wanted([Row(worth, (a, b)) for worth, a, b in asked], 4)
    material = Material("trim", Category.OTHER, rows, DEFAULTS[Category.OTHER])
    least = _cheapest(rows, wanted)
    if least is None:
        assert not any_purchase(material, wanted, Fraction(60))
    else:
        assert not any_purchase(material, wanted, least)
        assert any_purchase(material, wanted, least + 1)


def test_a_bound_above_the_least_bill_is_a_fault() -> None:
    """Two cartons of A are 72.00; A and B together 45.50: whoever claims that no order is below 72.00 is told."""
    rows = (
        StockLength("A", inches(144), price=Decimal("9.00"), carton=4, singles=False),
        StockLength("B", inches(150), price=Decimal("9.50")),
    )
    settled = replace(DEFAULTS[Category.OTHER], kerf=0)
    items = (Required("P", "trim", inches(70), 10),)
    job = Job("by hand", Unit.IN, (Material("trim", Category.OTHER, rows, settled),), items)
    plan = plan_job(job, time.monotonic)
    (part,), (line, *_) = plan.materials, plan.order
    dear = replace(line, cartons=2, spares=line.spares + 4, amount=Decimal("72.00"))
    steps = int(72 / part.cost_step)
    claimed = replace(part, cost=steps, bound=steps)
    assert check(job, plan) == ()
    assert "bound" in {fault.code for fault in check(job, replace(plan, order=(dear,), materials=(claimed,)))}
