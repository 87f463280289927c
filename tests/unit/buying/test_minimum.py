"""Minimum orders by hand: refused, made up, charged for, over one material or several.

The figures are our own; what becomes of small orders is common practice of yards, no source.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from solver import plan_job
from solver.buying.bill import NEVER
from solver.buying.choice import MOST_MORE, Choice, Kinds
from solver.buying.terms import Minimum, Sold, Terms, Tier
from solver.categories import DEFAULTS, Category
from solver.checking import check
from solver.job import BelowMinimum, Job, MinimumOrder
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.required import Required
from solver.watch import Watch
from tests.scenario import inches

A = StockLength("A", inches(144), price=Decimal("9.00"))
B = StockLength("B", inches(120), price=Decimal("8.00"))
THREE = (Required("P", "trim", inches(100), 3),)
"""Three pieces, of which a stick of either length gives one."""


def material(name: str, *rows: StockLength) -> Material:
    """Return a material without kerf."""
    return Material(name, Category.OTHER, rows, replace(DEFAULTS[Category.OTHER], kerf=0))


def job(minimum: MinimumOrder, *rows: StockLength, required: tuple[Required, ...] = THREE) -> Job:
    """Return a job of one material under a minimum order."""
    return Job("by hand", Unit.IN, (material("trim", *rows),), required, minimum_order=minimum)


def planned(asked: Job) -> CutPlan:
    """Plan a job."""
    return plan_job(asked, time.monotonic)


@pytest.mark.parametrize(
    ("minimum", "small_order", "total"),
    [
        (MinimumOrder(Decimal(24), BelowMinimum.REFUSED), "0", "24.00"),
        (MinimumOrder(Decimal(30), BelowMinimum.MADE_UP), "6.00", "30.00"),
        (MinimumOrder(Decimal(40), BelowMinimum.FEE, Decimal(5)), "5.00", "29.00"),
        (MinimumOrder(Decimal(25), BelowMinimum.FEE, Decimal(5)), "0", "25.00"),
    ],
    ids=["reached", "made up", "charged", "cheaper than the charge"],
)
def test_what_becomes_of_a_small_order(minimum: MinimumOrder, small_order: str, total: str) -> None:
    """Three B are 24.00. Made up they are charged as 30.00; a fee of 5.00 is paid unless an A for a B saves it."""
    plan = planned(job(minimum, A, B))
    assert plan.bill is not None
    assert (plan.bill.small_order, plan.bill.total, plan.order_total) == (Decimal(small_order), *[Decimal(total)] * 2)
    assert plan.bill.proven


def test_a_minimum_counts_all_materials_of_the_job() -> None:
    """Two of one at 8.00 and one of the other at 9.00 come to 25.00 together: neither needs more."""
    asked = Job(
        "by hand", Unit.IN, (material("trim", B), material("post", A)),
        (replace(THREE[0], quantity=2), replace(THREE[0], material="post", quantity=1)),
        minimum_order=MinimumOrder(Decimal(25), BelowMinimum.REFUSED),
    )  # fmt: skip
    plan = planned(asked)
    assert (plan.order_total, [line.spares for line in plan.order]) == (Decimal("25.00"), [0, 0])


def test_a_minimum_out_of_reach_is_said() -> None:
    """Three sticks are there, at 8.00: 24.00 is all that can be ordered."""
    plan = planned(job(MinimumOrder(Decimal(25), BelowMinimum.REFUSED), replace(B, available=3)))
    assert [notice.code for notice in plan.warnings] == ["below_minimum"]
    assert plan.order_total == Decimal("24.00")


def test_a_far_minimum_takes_as_many_sticks_as_it_takes() -> None:
    """At a hundredth a stick half a million come to 5,000.00, and no fewer do."""
    plan = planned(job(MinimumOrder(Decimal(5000), BelowMinimum.REFUSED), replace(B, price=Decimal("0.01"))))
    assert (plan.order_total, plan.order[0].sticks + plan.order[0].spares) == (Decimal("5000.00"), 500_000)
    assert plan.bill is not None
    assert plan.bill.proven


def test_more_sticks_than_an_order_may_have_are_not_proven_too_few() -> None:
    """Two million sticks of one step each come to a minimum of two million steps: no bound is above that."""
    rule = Minimum(2_000_000, BelowMinimum.REFUSED, 0)
    choice = Choice(rule)
    terms = Terms((Sold((Tier(0, 1, 1),), 1, 0, None, together=False),))
    choice.add(terms, Kinds((0,), (0,)), 3).at_least((3,))
    bound, chosen = choice.cheapest(NEVER, Watch(time.monotonic, time.monotonic() + 60))
    assert chosen is None
    assert MOST_MORE <= bound <= 2_000_000


def test_the_checker_adds_the_bill_up_by_itself() -> None:
    """A charge left out, a bound above the total, or goods below a minimum that are not said, are found."""
    asked = job(MinimumOrder(Decimal(40), BelowMinimum.FEE, Decimal(5)), B)
    plan = planned(asked)
    assert plan.bill is not None
    for bill in (replace(plan.bill, small_order=Decimal(0)), replace(plan.bill, bound=Decimal(99)), None):
        assert "bill" in {fault.code for fault in check(asked, replace(plan, bill=bill))}
    refused = replace(asked, minimum_order=MinimumOrder(Decimal(40), BelowMinimum.REFUSED))
    unsaid = replace(plan, bill=replace(plan.bill, small_order=Decimal(0)))
    assert "bill" in {fault.code for fault in check(refused, unsaid)}
