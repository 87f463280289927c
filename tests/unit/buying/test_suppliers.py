"""Orders of several suppliers by hand: a minimum, an order cost and delivery for each.

The figures and the arithmetic are our own; what suppliers charge for is common practice, no source.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from service.views.facts import in_a_sentence, quality
from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.checking import check
from solver.job import BelowMinimum, Job, MinimumOrder, Supplier
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.plan import Bill, CutPlan
from solver.proof import Basis
from solver.required import Required
from tests.scenario import inches

STICK = StockLength("12", inches(144), price=Decimal("10.00"))


def material(name: str, supplier: str = "") -> Material:
    """Return a material without kerf, sold by the stick of 144 at 10.00."""
    return Material(name, Category.OTHER, (STICK,), replace(DEFAULTS[Category.OTHER], kerf=0), supplier=supplier)


def job(panels: int, posts: int, *suppliers: Supplier, minimum: MinimumOrder | None = None) -> Job:
    """Return a job for so many whole sticks of panel, which North sells, and of post, which South sells."""
    materials = material("panel", "North"), material("post", "South")
    wanted = (("panel", panels), ("post", posts))
    items = tuple(Required(name, name, inches(140), count) for name, count in wanted if count)
    return Job("by hand", Unit.IN, materials, items, suppliers=suppliers, minimum_order=minimum)


def planned(asked: Job) -> CutPlan:
    """Plan a job."""
    return plan_job(asked, time.monotonic)


def bills(plan: CutPlan) -> dict[str, Bill]:
    """Return the bills by supplier."""
    return {bill.supplier: bill for bill in plan.bills}


def test_each_supplier_has_a_minimum_of_its_own() -> None:
    """Three panels are 30.00 and two posts 20.00: North makes 30.00 up to 40.00, South asks for no more than 20.00."""
    north = Supplier("North", MinimumOrder(Decimal(40), BelowMinimum.MADE_UP))
    south = Supplier("South", MinimumOrder(Decimal(20), BelowMinimum.REFUSED))
    plan = planned(job(3, 2, north, south))
    assert {name: (bill.goods, bill.total, bill.proven) for name, bill in bills(plan).items()} == {
        "North": (Decimal(30), Decimal(40), True),
        "South": (Decimal(20), Decimal(20), True),
    }
    assert plan.bill is not None
    assert (plan.bill.total, plan.bill.bound, plan.order_total) == (Decimal(60),) * 3


def test_the_minimum_of_the_job_is_for_what_nobody_says_who_sells() -> None:
    """Posts without a supplier are made up to 25.00, panels of North stay at 10.00."""
    asked = job(1, 2, minimum=MinimumOrder(Decimal(25), BelowMinimum.MADE_UP))
    asked = replace(asked, materials=(asked.materials[0], material("post")))
    plan = planned(asked)
    assert {name: bill.total for name, bill in bills(plan).items()} == {"North": Decimal(10), "": Decimal(25)}


@pytest.mark.parametrize(
    ("free_from", "sticks", "total"),
    [(None, 3, "47.00"), (Decimal(30), 3, "35.00"), (Decimal(40), 4, "45.00"), (Decimal(50), 3, "47.00")],
    ids=["never free", "reached", "cheaper to reach", "dearer to reach"],
)
def test_delivery_may_be_saved_by_a_stick_more(free_from: Decimal | None, sticks: int, total: str) -> None:
    """Three panels are 30.00, the order 5.00 and its delivery 12.00; a fourth stick saves that if 40.00 is enough."""
    plan = planned(job(3, 0, Supplier("North", None, Decimal(5), Decimal(12), free_from)))
    (bill,) = plan.bills
    assert (plan.order[0].sticks + plan.order[0].spares, plan.order_total) == (sticks, Decimal(total))
    assert (bill.order_cost, bill.total, bill.proven) == (Decimal(5), Decimal(total), True)


def test_an_order_that_stays_too_small_is_charged_for_all_the_same() -> None:
    """One stick is all there is: 10.00, 5.00 for the order and 12.00 for delivery; North asks for goods of 40.00."""
    asked = job(1, 0, Supplier("North", MinimumOrder(Decimal(40), BelowMinimum.REFUSED), Decimal(5), Decimal(12)))
    panel, post = asked.materials
    last = replace(panel, stock=(replace(STICK, available=1),))
    plan = planned(replace(asked, materials=(last, post)))
    bill = bills(plan)["North"]
    charges = bill.small_order, bill.order_cost, bill.delivery
    assert (*charges, bill.total) == tuple(map(Decimal, (0, 5, 12, 27)))
    assert [notice.code for notice in plan.warnings] == ["below_minimum"]


def test_who_is_not_ordered_from_charges_nothing() -> None:
    """Nothing is wanted of South, so its order cost is not paid."""
    plan = planned(job(1, 0, Supplier("North", None, Decimal(5)), Supplier("South", None, Decimal(9))))
    assert plan.order_total == Decimal(15)


def test_what_is_proven_is_said_of_the_supplier_who_charges() -> None:
    """North charges for the order, South does not: of South's part what its own bound says is told."""
    asked = job(1, 1, Supplier("North", None, Decimal(5)))
    plan = planned(asked)
    north, south = (quality(asked, plan, part) for part in plan.materials)
    assert north.startswith("No cheaper order from North, with all that is charged, can cut this list.")
    claim = "No cheaper order from these lengths and prices can cut this list."
    assert south == f"{claim} {in_a_sentence(Basis.CERTIFIED)}"


def test_suppliers_who_charge_nothing_have_no_bill() -> None:
    """Two suppliers by name alone: two orders, and what they come to is what their lines come to."""
    plan = planned(job(1, 1))
    assert (plan.bill, plan.bills, plan.order_total) == (None, (), Decimal(20))


@pytest.mark.parametrize("wrong", ["goods", "fixed_costs", "small_order", "order_cost", "delivery", "own", "bound"])
def test_the_checker_adds_each_bill_up_by_itself(wrong: str) -> None:
    """A figure too high in one bill, or in that of all, is found; so is a bill of another supplier, or none."""
    asked = job(2, 1, Supplier("North", MinimumOrder(Decimal(25), BelowMinimum.MADE_UP), Decimal(5), Decimal(12)))
    plan = planned(asked)
    assert not check(asked, plan)
    first, whole = plan.bills[0], plan.bill
    assert whole is not None
    more = replace(first, **{wrong: getattr(first, wrong) + 100})
    other = (replace(first, supplier="West"), *plan.bills[1:])
    for bill, all_bills in (
        (whole, (more, *plan.bills[1:])),
        (replace(whole, **{wrong: getattr(whole, wrong) + 1}), plan.bills),
        (whole, other), (whole, ()), (None, plan.bills), (None, ()),
    ):  # fmt: skip
        assert "bill" in {fault.code for fault in check(asked, replace(plan, bill=bill, bills=all_bills))}
