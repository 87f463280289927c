"""The checker of weeks refuses every plan that is wrong in one thing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from typing import Any

import pytest

from solver.checking.week import check_week, examine_week
from solver.checking.week_bound import with_bases
from solver.materials import FactoryEnd, Offcut, PriceBreak, StockLength
from solver.proof import SEARCHED, Basis, DatedValue, DatedValues
from solver.required import Required
from solver.weekly.plan import Figures, KeptOffcut, Missing, WeekPlan
from solver.weekly.week import DatedJob, Delivery, Sticks, Week
from tests.scenario import PANEL, inches
from tests.support.weeks import (
    MONDAY,
    NORTH,
    SHED,
    THURSDAY,
    TUESDAY,
    planned,
    week,
    with_carry,
    with_rack,
    with_thursdays_delivery,
)

Spoil = Callable[[WeekPlan], WeekPlan]


@cache
def right() -> WeekPlan:
    """Return the plan of the week by hand."""
    return planned(week())


def codes(asked: Week, plan: WeekPlan, open_from: date = MONDAY) -> set[str]:
    """Return the codes of the faults found."""
    return {fault.code for fault in check_week(asked, open_from, plan)}


def _kept(plan: WeekPlan, kept: tuple[KeptOffcut, ...]) -> WeekPlan:
    return replace(plan, days=(replace(plan.days[0], kept=kept), *plan.days[1:]))


def _thursday(plan: WeekPlan, **changes: object) -> WeekPlan:
    return replace(plan, days=(plan.days[0], replace(plan.days[1], **changes)))  # type: ignore[arg-type]


def _label_twice(plan: WeekPlan) -> WeekPlan:
    first, second, third = plan.days[0].kept
    return _kept(plan, (first, replace(second, label=first.label), third))


def _first_kept(plan: WeekPlan, **changes: object) -> WeekPlan:
    first, *others = plan.days[0].kept
    return _kept(plan, (replace(first, **changes), *others))  # type: ignore[arg-type]


def _offcut_from_nowhere(plan: WeekPlan) -> WeekPlan:
    day = plan.days[1]
    offcuts = (Offcut("X", "panel-sand", inches(50), 1, FactoryEnd.RIGHT), *day.job.offcuts[1:])
    return _thursday(plan, job=replace(day.job, offcuts=offcuts))


def _order_one_less(plan: WeekPlan) -> WeekPlan:
    (order,) = plan.orders
    (line,) = order.lines
    return replace(plan, orders=(replace(order, lines=(replace(line, sticks=2, loose=2, amount=Decimal("19.60")),)),))


def _order_one_more(plan: WeekPlan) -> WeekPlan:
    (order,) = plan.orders
    (line,) = order.lines
    return replace(plan, orders=(replace(order, lines=(replace(line, sticks=4, loose=4, amount=Decimal("39.20")),)),))


def _cheaper_pooled(plan: WeekPlan) -> WeekPlan:
    (only,) = plan.compared
    return replace(plan, compared=(replace(only, pooled=Figures(2, Decimal("19.60"))),))


def _bound_above(plan: WeekPlan) -> WeekPlan:
    (only,) = plan.compared
    return replace(plan, compared=(replace(only, bound=Figures(4, Decimal("39.20"))),))


SPOILT: dict[str, tuple[Spoil, str]] = {
    "a label twice": (_label_twice, "label"),
    "an offcut longer than it is left": (lambda plan: _first_kept(plan, length=inches(51)), "kept"),
    "an offcut without a label": (lambda plan: _kept(plan, plan.days[0].kept[1:]), "kept"),
    "wanted on its own day": (lambda plan: _first_kept(plan, wanted=MONDAY), "kept"),
    "wanted on no day": (lambda plan: _first_kept(plan, wanted=None), "kept"),
    "an offcut from nowhere": (_offcut_from_nowhere, "offcut"),
    "a day left out": (lambda plan: replace(plan, days=plan.days[:1]), "job"),
    "a day moved": (lambda plan: _thursday(plan, date=THURSDAY + timedelta(days=1)), "job"),
    "days out of order": (lambda plan: replace(plan, days=plan.days[::-1]), "day"),
    "frozen too early": (lambda plan: _thursday(plan, frozen=True), "day"),
    "one panel too few ordered": (_order_one_less, "delivery"),
    "one panel too many ordered": (_order_one_more, "order"),
    "delivered after it is cut": (
        lambda plan: replace(plan, orders=(replace(plan.orders[0], date=TUESDAY),)), "delivery"
    ),
    "fewer nights than carried": (lambda plan: replace(plan, nights=(2, 3, 3, 0, 0, 0, 0)), "carried"),
    "fewer offcuts than carried": (lambda plan: replace(plan, carried=2), "carried"),
    "a cost below what is ordered": (_cheaper_pooled, "compared"),
    "a bound above the cost": (_bound_above, "compared"),
    "a bound of the week above its cost": (lambda plan: replace(plan, bound=Decimal("29.41")), "compared"),
    "something missing that is not": (
        lambda plan: replace(plan, missing=(Missing("boat-shed", 0, "B", 1, ""),)), "missing"
    ),
    "another week": (lambda plan: replace(plan, week="2026-W47"), "week"),
}  # fmt: skip


def test_the_plan_by_hand_is_right() -> None:
    """Nothing is found in what the planner made."""
    assert not codes(week(), right())


@pytest.mark.parametrize("spoilt", SPOILT)
def test_one_thing_wrong_is_found(spoilt: str) -> None:
    """Each way to spoil the plan gives a fault of its own kind."""
    spoil, code = SPOILT[spoilt]
    assert code in codes(week(), spoil(right()))


def test_an_offcut_brought_on_the_day_it_is_cut_is_found() -> None:
    """Thursday's pieces asked for on Monday too: what Monday leaves is not there when Monday's truck is loaded."""
    plan = right()
    monday, thursday = plan.days
    asked = week()
    north, later = asked.jobs
    same_day = replace(asked, jobs=(north, replace(later, date=MONDAY)))
    bringing = replace(plan, days=(monday, replace(thursday, date=MONDAY)), nights=(0,) * 7)
    faults = check_week(same_day, MONDAY, bringing)
    assert any(fault.code == "offcut" and "earlier day" in fault.detail for fault in faults)


def test_more_ordered_than_can_be_had_is_found() -> None:
    """The plan orders three panels: where two are available it is refused, where three are it is right."""
    (panel,) = week().materials
    for available, found in ((2, {"stock"}), (3, set())):
        limited = replace(panel, stock=(replace(panel.stock[0], available=available),))
        assert codes(replace(week(), materials=(limited,)), right()) & {"stock"} == found


def test_more_than_the_van_takes_is_found() -> None:
    """Three offcuts are carried where two may be."""
    assert "carried" in codes(with_carry(2), right())


def test_a_piece_more_than_the_week_asks_is_found() -> None:
    """The week wants one piece less of Monday than the sheet cuts."""
    asked = week()
    north, shed = asked.jobs
    fewer = replace(north, required=(replace(north.required[0], quantity=2),))
    assert "job" in codes(replace(asked, jobs=(fewer, shed)), right())


def _valued(fifty: int, night: int) -> WeekPlan:
    """The plan of a van for two: in thirtieths of a cent 100 in is worth a panel, 50 in a third of it, or as given."""
    values = [
        DatedValue("panel-sand", day, inches(length), needs_left=False, needs_right=False, value=value)
        for day, length, value in ((MONDAY, 100, 29_400), (THURSDAY, 50, fifty))
    ]
    return replace(planned(with_carry(2)), dated=DatedValues(3_000, tuple(values), (0, 0, night, 0, 0, 0, 0)))


@pytest.mark.parametrize(
    ("fifty", "night", "basis"),
    [(9_800, 9_800, Basis.CERTIFIED), (9_800, 0, Basis.SEARCHED), (19_600, 9_800, Basis.SEARCHED)],
)
def test_a_bound_in_a_small_van_follows_from_dated_values(fifty: int, night: int, basis: Basis) -> None:
    """A panel of 100 and 50 in is worth 13.07 less 3.27 for Wednesday's night; all, less two places: 32.67, so 39.20.

    Where the night costs nothing, or 50 in twice as much, a panel is worth more than it costs, and 29.40 is left.
    """
    found = examine_week(with_carry(2), MONDAY, _valued(fifty, night))
    assert (found.faults, found.plan.basis, found.plan.bound) == ((), basis, Decimal("39.20"))


@pytest.mark.parametrize(("bound", "basis"), [("39.20", Basis.CERTIFIED), ("39.21", Basis.SEARCHED)])
def test_what_just_comes_to_the_bill_is_all_that_dated_values_rule_out(bound: str, basis: Basis) -> None:
    """Less than 39.20 buys three panels, which are worth too little; less than 39.21 buys the plan's four."""
    plan = replace(_valued(9_800, 9_800), bound=Decimal(bound))
    assert with_bases(with_carry(2), MONDAY, plan, MONDAY).basis is basis


def test_a_bound_counts_every_offcut_of_a_label() -> None:
    """Three offcuts of a panel's length cost nothing: no bound is 29.40, even if another one has their label."""
    asked = with_rack()
    plan = planned(asked)
    long = replace(asked.rack[0], length=inches(150), quantity=3)
    for rack, basis in ((asked.rack, Basis.CERTIFIED), ((long, *asked.rack), Basis.SEARCHED)):
        judged = with_bases(replace(asked, rack=rack), MONDAY, plan, MONDAY)
        assert (judged.bound, judged.basis) == (Decimal("29.40"), basis)


def test_days_that_share_nothing_cost_whole_sticks_beside_what_is_valued_by_itself() -> None:
    """Of 144 in at 11.20 Tuesday's soffit leaves 29 1/2, too short to keep: with Thursday's 20 it takes one of 192.

    As if on one day 11.20 would do, and by values of its days 12 and something; less than 14.10 is 11.20 alone.
    """
    rows = (
        StockLength("12", inches(144), price=Decimal("11.20")),
        StockLength("16", inches(192), price=Decimal("14.10")),
    )
    soffit = replace(PANEL, id="soffit-sand", stock=rows)
    tuesdays = (Required("S", "soffit-sand", inches(14), 6), Required("T", "soffit-sand", inches("15.25"), 2))
    jobs = (DatedJob("m", TUESDAY, tuesdays), DatedJob("t", THURSDAY, (Required("U", "soffit-sand", inches(20)),)))
    plan = planned(replace(week(), materials=(PANEL, soffit), jobs=(*week().jobs, *jobs)))
    assert (plan.bill, plan.bound, plan.basis) == (Decimal("43.50"), Decimal("43.50"), Basis.CERTIFIED)
    assert plan.dated is not None
    assert {value.material for value in plan.dated.values} == {"soffit-sand"}


def test_where_nothing_is_carried_the_days_prove_the_bound() -> None:
    """29.40 and 9.80, each by values of its own; without Monday's nothing says that two panels don't do for it."""
    plan = planned(with_carry(0))
    assert (plan.bound, plan.basis) == (Decimal("39.20"), Basis.CERTIFIED)
    monday, thursday = plan.days
    (part,) = monday.plan.materials
    bare = replace(monday, plan=replace(monday.plan, materials=(replace(part, proof=SEARCHED),)))
    assert examine_week(with_carry(0), MONDAY, replace(plan, days=(bare, thursday))).plan.basis is Basis.SEARCHED


def _at_seven(sticks: int, asked: Week) -> Week:
    """The week with panels at 7.00 where so many are ordered together."""
    row = replace(PANEL.stock[0], breaks=(PriceBreak(sticks, Decimal("7.00")),))
    return replace(asked, materials=(replace(PANEL, stock=(row,)),))


def test_days_that_share_an_order_prove_no_bound_by_themselves() -> None:
    """Monday's three panels are 29.40 at the least and Thursday's 9.80, but five ordered together at 7.00 are 35.00."""
    asked = replace(with_thursdays_delivery(), limits=with_carry(0).limits)
    dear, own = planned(_at_seven(9, asked)), planned(asked)
    five = _at_seven(5, asked)
    days = []
    for day, alone in zip(dear.days, own.days, strict=True):
        ((part,), (known,)) = day.plan.materials, alone.plan.materials
        part = replace(part, cost=known.cost, cost_step=known.cost_step, least_uncut=True)
        sheet = replace(day.plan, materials=(replace(part, bound=known.bound, proof=known.proof),))
        days.append(replace(day, job=replace(day.job, materials=five.materials), plan=sheet))
    (entry,) = dear.compared
    said = replace(dear, days=tuple(days), compared=(replace(entry, bound=entry.pooled),), bound=Decimal("39.20"))
    found = examine_week(five, MONDAY, said)
    assert (planned(five).bill, found.faults, found.plan.basis) == (Decimal("35.00"), (), Basis.SEARCHED)
    bases = [part.proof.basis for day in found.plan.days for part in day.plan.materials]
    assert bases == [Basis.CERTIFIED, Basis.CERTIFIED]


@pytest.mark.parametrize(
    ("terms", "new"),
    [
        ({}, "19.60"),
        ({"carton": 4, "carton_price": Decimal("36.00")}, "19.60"),
        ({"fixed_cost": Decimal("3.00")}, "22.60"),
    ],
)
def test_a_bound_beside_a_stick_of_the_shop_is_worked_out_again(terms: dict[str, Any], new: str) -> None:
    """One of three panels came on Monday, two are ordered for Tuesday: a carton of four is dearer than they are."""
    sold = replace(PANEL, stock=(replace(PANEL.stock[0], **terms),))
    came = Delivery(MONDAY, (Sticks(PANEL.id, PANEL.stock[0].id, 1),))
    jobs = (replace(NORTH, date=TUESDAY), SHED)
    plan = planned(replace(week(), materials=(sold,), jobs=jobs, deliveries=(came, Delivery(TUESDAY))))
    (entry,) = plan.compared
    assert (entry.pooled.cost, entry.bound, plan.basis) == (Decimal(new), entry.pooled, Basis.CERTIFIED)


def test_a_bound_that_no_van_raises_rests_on_the_material_s_own_values() -> None:
    """450 in can't come out of two panels; without values it is as a search left it."""
    (entry,) = right().compared
    assert (right().basis, entry.proof.kind, entry.proof.basis) == (Basis.CERTIFIED, "duals", Basis.CERTIFIED)
    said = replace(entry, proof=replace(entry.proof, values=()))
    bare = examine_week(week(), MONDAY, replace(right(), compared=(said,))).plan
    assert (bare.basis, bare.compared[0].proof.basis) == (Basis.SEARCHED, Basis.SEARCHED)
