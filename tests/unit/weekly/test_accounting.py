"""Whose sticks they were, and which are left whole: reckoned by hand from the week of ``tests.support.weeks``."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from solver.weekly.summary import job_costs, whole_left
from solver.weekly.week import Delivery, Sticks
from tests.scenario import PANEL
from tests.support.weeks import MONDAY, NORTH, planned, week, with_rack


def test_a_stick_is_paid_by_whom_it_is_cut_for() -> None:
    """Of each of three panels at 9.80 the north wall has 100 in, the shed 50: two thirds of 29.40, and one."""
    costs = {one.job: one.cost for one in job_costs(planned(week()))}
    assert costs == {"north-wall": Decimal("19.60"), "boat-shed": Decimal("9.80")}


def test_an_offcut_of_the_rack_costs_nothing_and_cents_add_up() -> None:
    """One B comes from the rack: 29.40 is split 300 to 100, 2 x 9.80 x 2/3 + 9.80 for the wall."""
    costs = {one.job: one.cost for one in job_costs(planned(with_rack()))}
    assert costs == {"north-wall": Decimal("22.87"), "boat-shed": Decimal("6.53")}
    assert sum(cost or 0 for cost in costs.values()) == Decimal("29.40")


def test_a_stick_costs_what_it_comes_to_on_the_order() -> None:
    """Three panels are a carton of 27.00 with 3.00 charged once: two thirds of 30.00, and one, as the orders say."""
    row = replace(PANEL.stock[0], carton=3, carton_price=Decimal(27), fixed_cost=Decimal(3))
    plan = planned(replace(week(), materials=(replace(PANEL, stock=(row,)),)))
    assert {one.job: one.cost for one in job_costs(plan)} == {"north-wall": Decimal(20), "boat-shed": Decimal(10)}
    assert plan.bill == Decimal(30)


def test_without_a_price_there_is_no_cost() -> None:
    """Nothing is said rather than nought."""
    unpriced = replace(PANEL, stock=tuple(replace(row, price=None) for row in PANEL.stock))
    costs = job_costs(planned(replace(week(), materials=(unpriced,))))
    assert {one.cost for one in costs} == {None}


def test_sticks_that_nobody_cuts_are_listed() -> None:
    """Five came, and three are cut for the north wall; as ordered, none is left."""
    alone = replace(week(), jobs=(NORTH,))
    assert whole_left(alone, planned(alone)) == ()
    stock = PANEL.stock[0].id
    came = replace(alone, deliveries=(Delivery(MONDAY, (Sticks("panel-sand", stock, 5),)),))
    assert whole_left(came, planned(came)) == (Sticks("panel-sand", stock, 2),)
