"""What a crew's week costs, and what none costs less than: see ``tests.support.weeks`` for the arithmetic."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import count
from typing import Any

import pytest

from solver.materials import PriceBreak, StockLength
from solver.plan import StoppedBy
from solver.proof import Basis
from solver.required import Required
from solver.weekly import recutting
from solver.weekly.moment import Moment
from solver.weekly.patterns import column_pool
from solver.weekly.patterns.generation import RestrictedMaster
from solver.weekly.week import DatedJob, Delivery, WeekLimits
from tests.scenario import PANEL, inches
from tests.support.weeks import (
    BEFORE,
    FRIDAY,
    MONDAY,
    NORTH,
    THURSDAY,
    TUESDAY,
    planned,
    week,
    with_carry,
    with_thursdays_delivery,
)


@pytest.mark.parametrize(
    ("terms", "bill", "alone"),
    [
        ({"breaks": (PriceBreak(3, Decimal("9.00")),)}, "27.00", "36.80"),
        ({"breaks": (PriceBreak(4, Decimal("7.00")),)}, "28.00", "37.80"),
        ({"carton": 4, "singles": False, "carton_price": Decimal("34.00")}, "34.00", "68.00"),
        ({"carton": 3, "carton_price": Decimal("27.50")}, "27.50", "37.30"),
        ({"fixed_cost": Decimal("5.00")}, "34.40", "49.20"),
    ],
)
def test_the_order_is_billed_as_sticks_are_sold_and_so_is_the_bound(
    terms: dict[str, Any], bill: str, alone: str
) -> None:
    """Three panels, or four for less; alone, Monday's job orders three and Thursday's a fourth, each by itself."""
    sold = replace(PANEL, stock=(replace(PANEL.stock[0], **terms),))
    plan = planned(replace(week(), materials=(sold,)))
    (only,) = plan.compared
    assert only.bound is not None
    assert only.pooled.cost == only.bound.cost == plan.bound == plan.bill == Decimal(bill)
    assert (only.alone.cost, plan.proven) == (Decimal(alone), True)


@pytest.mark.parametrize(
    ("terms", "brought", "bill"),
    [
        ({"carton": 6, "singles": False, "carton_price": Decimal("54.00")}, [(MONDAY, 4, 2)], "54.00"),
        ({"breaks": (PriceBreak(4, Decimal("7.00")),)}, [(MONDAY, 4, 0)], "28.00"),
        ({"fixed_cost": Decimal("5.00")}, [(MONDAY, 4, 0)], "44.20"),
        ({"breaks": (PriceBreak(9, Decimal("7.00")),)}, [(MONDAY, 3, 0), (THURSDAY, 1, 0)], "39.20"),
    ],
)
def test_thursdays_panel_comes_on_monday_where_that_is_cheaper(
    terms: dict[str, Any], brought: list[tuple[date, int, int]], bill: str
) -> None:
    """With nothing carried three panels are cut on Monday and one on Thursday; each day something is delivered."""
    sold = replace(PANEL, stock=(replace(PANEL.stock[0], **terms),))
    plan = planned(replace(with_thursdays_delivery(), limits=with_carry(0).limits, materials=(sold,)))
    lines = [(order.date, line.sticks, line.spares) for order in plan.orders for line in order.lines]
    assert (lines, plan.bill) == (brought, Decimal(bill))
    assert plan.bound is not None
    assert plan.bound <= plan.cost == plan.bill


def test_a_bill_without_what_cutting_counts_says_so() -> None:
    """A quarter of a dollar for each cut is on no order; jobs planned alone heed it, the week does not."""
    sawn = replace(PANEL, settings=replace(PANEL.settings, cut_price=Decimal("0.25")))
    plan = planned(replace(week(), materials=(sawn,)))
    (note,) = plan.notes
    assert plan.bill == Decimal("29.40")
    assert note.startswith("panel-sand: what cuts,")


@pytest.mark.parametrize(("days", "said"), [(0, 0), (1, 0), (2, 1)])
def test_what_takes_longer_to_come_than_its_delivery_is_told(days: int, said: int) -> None:
    """On Sunday panels are ordered for Monday; those that were are not told of again."""
    slow = replace(week(), materials=(replace(PANEL, stock=(replace(PANEL.stock[0], wait_days=days),)),))
    plan = planned(slow)
    assert (
        list(plan.notes)
        == ["panel-sand 12-6 takes 2 days to come: for 2026-11-23 it had to be ordered by 2026-11-21"][:said]
    )
    assert planned(slow, replace(BEFORE, announced=plan)).notes == ()


def test_no_carton_is_opened_for_one_stick_of_it() -> None:
    """Seven of 110: four of 240 are 134.00. Three and one of 120 were 118.50, but a carton of four has to be bought."""
    short = StockLength("10", inches(120), price=Decimal("18.00"), carton=4, singles=False)
    posts = replace(PANEL, stock=(short, StockLength("20", inches(240), price=Decimal("33.50"))))
    jobs = [
        DatedJob(name, day, (Required("P", "panel-sand", inches(110), count),))
        for name, day, count in (("porch", MONDAY, 4), ("stairs", THURSDAY, 3))
    ]
    plan = planned(replace(week(), materials=(posts,), jobs=tuple(jobs)))
    assert (plan.bill, plan.proven, plan.basis) == (Decimal("134.00"), True, Basis.CERTIFIED)


def test_a_week_takes_the_length_that_its_bill_is_lower_with() -> None:
    """Three pieces of 100: 120s are 8.00 a stick against 9.80, but come in dozens, 96.00; three 150s are 29.40."""
    dozen = StockLength("10", inches(120), price=Decimal("8.00"), carton=12, singles=False)
    plan = planned(replace(week(), materials=(replace(PANEL, stock=(*PANEL.stock, dozen)),), jobs=(NORTH,)))
    assert ([line.stock for order in plan.orders for line in order.lines], plan.bill) == (["12-6"], Decimal("29.40"))
    assert plan.proven


def test_no_more_sticks_are_said_to_be_needed_than_any_length_asks_for() -> None:
    """Four of 70: out of four 75s they are 18.00, and 19.60 out of two 150s; how 75s are sold changes none of it."""
    half = StockLength("6-3", inches(75), price=Decimal("4.50"))
    jobs = (DatedJob("porch", MONDAY, (Required("P", "panel-sand", inches(70), 4),)),)
    for row in (half, replace(half, breaks=(PriceBreak(50, Decimal("4.00")),))):
        sold = replace(PANEL, stock=(*PANEL.stock, row))
        (only,) = planned(replace(week(), materials=(sold,), jobs=jobs)).compared
        assert (only.pooled.sticks, only.pooled.cost) == (4, Decimal("18.00"))
        assert only.bound is not None
        assert (only.bound.sticks, only.bound.cost) == (2, Decimal("18.00"))


def test_no_day_is_ended_by_a_proof_that_it_has_not() -> None:
    """Sold by rules no day has a bound of its own, so Monday's three panels are not said to be proven."""
    sold = replace(PANEL, stock=(replace(PANEL.stock[0], breaks=(PriceBreak(3, Decimal("9.00")),)),))
    plan = planned(replace(week(), materials=(sold,)))
    parts = [part for day in plan.days for part in day.plan.materials]
    assert plan.proven
    assert [(part.bound == part.cost, part.stopped_by) for part in parts] == [
        (False, StoppedBy.EFFORT),
        (True, StoppedBy.PROOF),
    ]


def test_what_is_given_away_is_billed_for_nothing() -> None:
    """A price of 0 is a price: three panels and a spare come to nothing, and no week to less."""
    given = replace(PANEL.stock[0], price=Decimal(0))
    sold = replace(PANEL, stock=(given,), settings=replace(PANEL.settings, spare_sticks=1))
    plan = planned(replace(week(), materials=(sold,)))
    assert (plan.bill, plan.bound, plan.basis) == (Decimal(0), Decimal(0), Basis.CERTIFIED)


def test_a_spare_stick_comes_with_the_order() -> None:
    """Three panels are cut and a fourth lies by: 4 x 9.80."""
    sold = replace(PANEL, settings=replace(PANEL.settings, spare_sticks=1))
    (line,) = planned(replace(week(), materials=(sold,))).orders[0].lines
    assert (line.sticks, line.spares, line.amount) == (3, 1, Decimal("39.20"))


def test_the_bound_of_the_week_knows_how_small_the_van_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """450 in would come out of three panels, but with two carried four are needed: 39.20, by the worths alone."""
    monkeypatch.setattr(column_pool, "ENUMERATION_STEPS", 0)
    monkeypatch.setattr(recutting, "ASKED", 0)
    plan = planned(with_carry(2))
    (only,) = plan.compared
    assert only.bound is not None
    assert (only.bound.cost, plan.bound, plan.proven) == (Decimal("29.40"), Decimal("39.20"), True)


def test_sticks_of_a_small_week_that_do_not_do_are_ruled_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three panels hold 450 in, but with two carried no three give Monday's and Thursday's: four are the least."""
    monkeypatch.setattr(column_pool, "ENUMERATION_STEPS", 0)
    (only,) = planned(with_carry(2)).compared
    assert only.bound is not None
    assert (only.bound.sticks, only.bound.cost) == (4, Decimal("39.20"))


def test_with_nothing_carried_the_days_prove_the_week(monkeypatch: pytest.MonkeyPatch) -> None:
    """No two panels give Monday's three of 100, and Thursday's need a fourth: each day proves its own."""
    monkeypatch.setattr(column_pool, "ENUMERATION_STEPS", 0)
    monkeypatch.setattr(recutting, "ASKED", 0)
    (only,) = planned(with_carry(0)).compared
    assert only.bound is not None
    assert (only.bound.sticks, only.bound.cost) == (4, Decimal("39.20"))


def test_each_day_has_a_bound_of_its_own() -> None:
    """No two panels give Monday's three of 100, and Thursday buys nothing; with none carried it needs one panel."""
    for carry, costs in ((None, [Decimal("29.40"), Decimal(0)]), (0, [Decimal("29.40"), Decimal("9.80")])):
        parts = [
            part for day in planned(replace(week(), limits=WeekLimits(carry=carry))).days for part in day.plan.materials
        ]
        assert [part.bound * part.cost_step for part in parts] == costs
        assert all(part.proven and part.proof.basis is Basis.CERTIFIED for part in parts)


def test_a_day_that_buys_for_another_costs_no_more_than_it_must() -> None:
    """Monday's 100 takes a panel of 16'-8", not of 12'-6", for Thursday's 90: dearer by itself, not in this week."""
    stock = (*PANEL.stock, StockLength("16-8", inches(200), price=Decimal("12.50")))
    jobs = [
        DatedJob(name, day, (Required("A", "panel-sand", inches(length)),))
        for name, day, length in (("m", MONDAY, 100), ("t", THURSDAY, 90))
    ]
    plan = planned(replace(week(), materials=(replace(PANEL, stock=stock),), jobs=tuple(jobs)))
    (first,) = plan.days[0].plan.materials
    assert (plan.bill, plan.proven, first.cost, first.proven) == (Decimal("12.50"), True, 125, True)
    assert first.proof.basis is Basis.SEARCHED


def test_bill_and_bound_speak_of_the_same_after_a_freeze() -> None:
    """On Monday its three panels are ordered for good; Friday's new 120 in needs a fourth: 29.40 and 9.80, proven."""
    more = DatedJob("more", FRIDAY, (Required("E", "panel-sand", inches(120)),))
    later = replace(week(), jobs=(*week().jobs, more), deliveries=(Delivery(MONDAY), Delivery(FRIDAY)))
    plan = planned(later, Moment(MONDAY, TUESDAY, planned(week())))
    assert (plan.cost, plan.bill, plan.bound, plan.proven) == (
        Decimal("9.80"),
        Decimal("39.20"),
        Decimal("39.20"),
        True,
    )


def test_the_bound_counts_the_spares_that_the_bill_does() -> None:
    """Three panels and a spare come to 39.20, and no order of the week to less."""
    panel = replace(PANEL, settings=replace(PANEL.settings, spare_sticks=1))
    plan = planned(replace(week(), materials=(panel,)))
    assert (plan.bill, plan.bound, plan.proven) == (Decimal("39.20"), Decimal("39.20"), True)


def test_a_linear_program_that_loses_its_footing_is_done_without(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its last answer is gone on from, here its first: the plan is a plan, and the bound is none too high."""
    answers = count()
    solve = RestrictedMaster.solve
    monkeypatch.setattr(column_pool, "ENUMERATION_STEPS", 0)
    monkeypatch.setattr(RestrictedMaster, "solve", lambda self: None if next(answers) else solve(self))
    plan = planned(week())
    assert plan.bound is not None
    assert plan.bill is not None
    assert plan.bound <= Decimal("29.40") <= plan.bill <= Decimal("39.20")


def test_deliveries_share_what_can_be_had_of_a_length() -> None:
    """Three panels a day: a carton of four each were 30.00, but there are seven. One, and two panels by themselves."""
    few = replace(PANEL.stock[0], available=7, carton=4, carton_price=Decimal("15.00"), price=Decimal("10.00"))
    jobs = (NORTH, replace(NORTH, id="south-wall", date=THURSDAY))
    asked = replace(with_thursdays_delivery(), jobs=jobs, materials=(replace(PANEL, stock=(few,)),))
    plan = planned(replace(asked, limits=with_carry(0).limits))
    assert (plan.bill, plan.notes) == (Decimal("35.00"), ())


@pytest.mark.parametrize("steps", [4_000, 0])
def test_what_days_ask_beyond_one_purchase_is_bought_for_the_days(steps: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is carried: one stick on Monday, three on Tuesday, two on Thursday, whether patterns are listed or not.

    A carton of four of 120 in, and two panels for Thursday, are 52.00. Five panels were 49.00 as if on one day, and
    six are 58.80.
    """
    monkeypatch.setattr(column_pool, "ENUMERATION_STEPS", steps)
    panels = replace(
        PANEL, stock=(StockLength("10", inches(120), price=Decimal("8.10"), carton=4, singles=False), *PANEL.stock)
    )
    days = ((MONDAY, (38, 38)), (TUESDAY, (91, 91, 91)), (THURSDAY, (104, 94, "48.5")))
    jobs = [
        DatedJob(f"job-{day}", day, tuple(Required("A", "panel-sand", inches(length)) for length in lengths))
        for day, lengths in days
    ]
    plan = planned(replace(with_carry(0), materials=(panels,), jobs=tuple(jobs)))
    assert (plan.bill, plan.bound, plan.proven) == (Decimal("52.00"), Decimal("52.00"), True)
