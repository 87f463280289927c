"""A crew's week, by hand: see ``tests.support.weeks`` for the arithmetic."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from solver.errors import Unplannable
from solver.materials import FactoryEnd, Offcut
from solver.required import End, Meets, Required
from solver.weekly.moment import Moment
from solver.weekly.plan import WeekPlan
from solver.weekly.week import DatedJob, Delivery, Done, Kept, Report, Sticks, Week
from tests.scenario import PANEL, inches
from tests.support.weeks import (
    BEFORE,
    FRIDAY,
    MONDAY,
    NORTH,
    SHED,
    THURSDAY,
    TUESDAY,
    WEDNESDAY,
    planned,
    week,
    with_carry,
    with_rack,
    with_shortest,
    with_thursdays_delivery,
)


def sticks(plan: WeekPlan) -> tuple[int, int]:
    """Return sticks bought alone and pooled."""
    (only,) = plan.compared
    return only.alone.sticks, only.pooled.sticks


def test_mondays_offcuts_do_thursdays_pieces() -> None:
    """Three panels instead of four, 29.40 instead of 39.20, and no plan does with two."""
    plan = planned(week())
    (only,) = plan.compared
    assert (sticks(plan), plan.bill, only.alone.cost) == ((4, 3), Decimal("29.40"), Decimal("39.20"))
    assert (plan.proven, plan.carried, plan.nights) == (True, 3, (3, 3, 3, 0, 0, 0, 0))


def test_the_shed_is_cut_from_labelled_offcuts() -> None:
    """What Monday keeps for Thursday is what Thursday brings, by the same label."""
    monday, thursday = planned(week()).days
    labels = [kept.label for kept in monday.kept]
    assert labels == ["48-MO1", "48-MO2", "48-MO3"]
    assert [offcut.id for offcut in thursday.job.offcuts] == labels
    assert {kept.wanted for kept in monday.kept} == {THURSDAY}


def test_a_van_that_carries_nothing_buys_a_fourth_panel() -> None:
    """Thursday's three come out of one whole panel, which lies in the shop until then."""
    plan = planned(with_carry(0))
    assert (sticks(plan), plan.carried) == ((4, 4), 0)


def test_a_van_that_carries_two_carries_none() -> None:
    """Two offcuts carried leave one 50 to a panel of its own: four panels either way, so none is carried."""
    plan = planned(with_carry(2))
    assert (sticks(plan), plan.carried) == ((4, 4), 0)


def test_an_offcut_too_short_to_keep_is_not_carried() -> None:
    """From 51 in on, the 50s that Monday leaves are scrap."""
    assert sticks(planned(with_shortest(51))) == (4, 4)


def test_a_rack_piece_waits_in_the_shop() -> None:
    """R-17 does one of Thursday's pieces and is in no van: two are carried."""
    plan = planned(with_rack())
    assert (sticks(plan)[1], plan.carried, plan.nights[0]) == (3, 2, 2)
    assert "R-17" in {offcut.id for offcut in plan.days[1].job.offcuts}


def test_a_stick_comes_with_the_last_delivery_before_it_is_cut() -> None:
    """With nothing carried, Monday's delivery brings three panels and Thursday's the fourth."""
    plan = planned(replace(with_thursdays_delivery(), limits=with_carry(0).limits))
    assert [(order.date, order.lines[0].sticks) for order in plan.orders] == [(MONDAY, 3), (THURSDAY, 1)]


def test_of_one_lot_two_deliveries_are_told_of() -> None:
    """Three panels come on Monday and a fourth on Thursday, unless all come on Monday."""
    panel = replace(PANEL, settings=replace(PANEL.settings, one_lot=True))
    asked = replace(with_thursdays_delivery(), limits=with_carry(0).limits, materials=(panel,))
    (note,) = planned(asked).notes
    assert "2026-11-23 and 2026-11-26" in note
    assert planned(replace(asked, deliveries=(Delivery(MONDAY),))).notes == ()


def test_nothing_is_cut_before_it_is_delivered() -> None:
    """Delivered on Thursday alone, Monday's job is refused by its name."""
    late = replace(week(), deliveries=(Delivery(THURSDAY),))
    with pytest.raises(Unplannable) as refused:
        planned(late)
    (problem,) = refused.value.problems
    assert (problem.code, problem.pointer) == ("before_any_delivery", "#/jobs/north-wall/date")


def test_the_spare_of_a_past_delivery_is_cut_before_another_is_ordered() -> None:
    """Monday's three panels came with one spare, which lies in the shop: Thursday's new 120 in comes out of it.

    A third of three panels is one spare, 4 x 9.80 = 39.20 as announced. On Tuesday one piece of 120 in is added,
    longer than Monday's offcuts: nothing more is bought.
    """
    panel = replace(PANEL, settings=replace(PANEL.settings, spare_percent=Decimal("33.3")))
    asked = replace(with_thursdays_delivery(), materials=(panel,), jobs=(NORTH,))
    announced = planned(asked)
    assert [(line.sticks, line.spares) for order in announced.orders for line in order.lines] == [(3, 1)]
    added = DatedJob("lean-to", THURSDAY, (Required("L", "panel-sand", inches(120)),))
    plan = planned(replace(asked, jobs=(NORTH, added)), Moment(TUESDAY, TUESDAY, announced))
    assert [order.date for order in plan.orders if not order.closed] == []
    (sheet,) = (day for day in plan.days if day.date == THURSDAY)
    assert [use.stock for use in sheet.plan.materials[0].patterns] == ["12-6"]


def test_a_stick_is_cut_on_three_days() -> None:
    """60 on Monday, 50 on Tuesday, 40 on Friday come out of one panel: two offcuts are carried, one for four nights."""
    lengths = ((MONDAY, 60), (TUESDAY, 50), (FRIDAY, 40))
    jobs = tuple(DatedJob(f"j{n}", day, (Required("A", "panel-sand", inches(n)),)) for day, n in lengths)
    plan = planned(replace(week(), jobs=jobs))
    assert (sticks(plan), plan.carried, plan.nights) == ((3, 1), 2, (1, 1, 1, 1, 0, 0, 0))


def test_both_factory_ends_are_not_carried() -> None:
    """Monday's plain 40 takes one end off: Thursday's left- and right-lapped pieces can't both come from the rest."""
    left = Required("L", "panel-sand", inches(49), left_end=End(Meets.LAP))
    right = Required("R", "panel-sand", inches(49), right_end=End(Meets.LAP))
    plain = DatedJob("m", MONDAY, (Required("A", "panel-sand", inches(40)),))
    both = planned(replace(week(), jobs=(plain, DatedJob("t", THURSDAY, (left, right)))))
    one = planned(replace(week(), jobs=(plain, DatedJob("t", THURSDAY, (left,)))))
    assert (sticks(both)[1], sticks(one)[1]) == (2, 1)


def test_an_offcut_keeps_the_end_that_is_wanted_later() -> None:
    """Thursday's left-lapped piece finds the left factory end: Monday cuts from the right."""
    left = Required("L", "panel-sand", inches(49), left_end=End(Meets.LAP))
    jobs = (DatedJob("m", MONDAY, (Required("A", "panel-sand", inches(60)),)), DatedJob("t", THURSDAY, (left,)))
    plan = planned(replace(week(), jobs=jobs))
    assert plan.days[0].kept[0].factory_end is FactoryEnd.LEFT


def test_what_no_stick_is_left_for_is_said() -> None:
    """Two panels in the yard: one of the north wall's pieces is missing, and is named."""
    short = replace(PANEL, stock=(replace(PANEL.stock[0], available=2),))
    plan = planned(replace(week(), materials=(short,), jobs=(NORTH,)))
    assert [(m.job, m.mark, m.quantity) for m in plan.missing] == [("north-wall", "A", 1)]
    assert [(line.stock, line.sticks, line.amount) for line in plan.to_buy] == [("12-6", 1, Decimal("9.80"))]


def test_withdrawn_and_added_again_the_plan_is_the_same() -> None:
    """Nothing was announced in between, and the order of jobs is that of their dates."""
    assert planned(replace(week(), jobs=(SHED, NORTH))) == planned(week())


def test_announced_in_between_the_bill_is_the_same() -> None:
    """With the shed withdrawn, announced, and the shed back: three panels again, and no more changed than need be."""
    without = planned(replace(week(), jobs=(NORTH,)))
    again = planned(week(), replace(BEFORE, announced=without))
    assert again.bill == planned(week()).bill


def test_an_announced_sheet_is_kept_where_it_costs_nothing() -> None:
    """Planned twice from what was announced, no stick is cut otherwise."""
    first = planned(with_rack())
    second = planned(with_rack(), replace(BEFORE, announced=first))
    assert (second.changes, second.days) == (0, first.days)


def test_a_sheet_that_froze_since_is_no_change() -> None:
    """On Monday, its sheet frozen as it was announced, no stick is cut otherwise, on any day."""
    first = planned(with_thursdays_delivery())
    second = planned(with_thursdays_delivery(), Moment(MONDAY, TUESDAY, first))
    assert second.changes == 0
    assert [day.date for day in second.days if day.frozen] == [MONDAY]


def test_todays_frozen_sheet_stays_and_its_offcuts_are_counted_on() -> None:
    """Monday cuts as on its sheet; a Tuesday job of 40 in takes one of its offcuts before the shed can.

    The shed is cut from a panel that it needs anyhow: the other two offcuts are for no day any more.
    """
    announced = planned(week())
    today = Moment(MONDAY, TUESDAY, announced)
    extra = DatedJob("shed", TUESDAY, (Required("C", "panel-sand", inches(40)),))
    asked = replace(week(), jobs=(NORTH, extra, SHED), deliveries=(Delivery(MONDAY), Delivery(THURSDAY)))
    plan = planned(asked, today)
    assert replace(plan.days[0], kept=()) == replace(announced.days[0], frozen=True, kept=())
    assert [kept.wanted for kept in plan.days[0].kept].count(None) == 2
    assert [order.closed for order in plan.orders] == [True, False]
    assert plan.days[1].job.offcuts[0].id.startswith("48-MO")


def test_a_final_sheet_keeps_nothing_for_a_day_that_does_not_bring_it() -> None:
    """Monday's sheet is final, with three offcuts for the shed; the shed is cancelled, and they go to the rack."""
    plan = planned(replace(week(), jobs=(NORTH,)), Moment(MONDAY, TUESDAY, planned(week())))
    assert [(day.frozen, kept.wanted) for day in plan.days for kept in day.kept] == [(True, None)] * 3


def test_what_was_cut_is_taken_from_the_report() -> None:
    """Monday's report says two offcuts were kept and one lost: Thursday gets one panel on Thursday."""
    announced = planned(week())
    kept = tuple(Kept(Offcut(f"48-MO{n}", "panel-sand", inches(50), 1, FactoryEnd.RIGHT)) for n in (1, 2))
    report = Report(MONDAY, (Done("north-wall", 0, 3),), (Sticks("panel-sand", "12-6", 3),), (), kept)
    asked = replace(with_thursdays_delivery(), reports=(report,))
    plan = planned(asked, Moment(TUESDAY, TUESDAY, announced))
    assert plan.orders[-1].lines[0].sticks == 1
    assert not plan.notes


def test_offcuts_reported_under_one_label_are_counted_each() -> None:
    """Monday's three offcuts were kept under one label: three are in the van every night until Thursday."""
    kept = (Kept(Offcut("48-MO1", "panel-sand", inches(50), 3, FactoryEnd.RIGHT)),)
    report = Report(MONDAY, (Done("north-wall", 0, 3),), (Sticks("panel-sand", "12-6", 3),), (), kept)
    plan = planned(replace(with_thursdays_delivery(), reports=(report,)), Moment(TUESDAY, TUESDAY, planned(week())))
    assert (plan.nights, plan.carried) == ((3, 3, 3, 0, 0, 0, 0), 3)


def test_an_unreported_day_is_not_planned_with() -> None:
    """Tuesday, and Monday was not reported: its offcuts are not counted on, and the plan says so."""
    plan = planned(with_thursdays_delivery(), Moment(TUESDAY, TUESDAY, planned(week())))
    assert not plan.days[1].job.offcuts
    assert "2026-11-23 was not reported" in plan.notes[0]


def test_a_job_that_came_too_late_for_todays_sheet_is_named() -> None:
    """The shed was put for Monday after Monday's sheet was made: it is on no sheet, and the plan says so."""
    late = DatedJob("shed", MONDAY, (Required("C", "panel-sand", inches(40)),))
    plan = planned(replace(week(), jobs=(NORTH, SHED, late)), Moment(MONDAY, TUESDAY, planned(week())))
    assert "shed was added after the sheet of 2026-11-23" in plan.notes[0]


def test_delivered_sticks_that_were_not_cut_cost_nothing_more() -> None:
    """The north wall was withdrawn after its three panels came: the shed is cut from one of them."""
    asked = replace(with_thursdays_delivery(), jobs=(SHED,))
    asked = replace(asked, deliveries=(Delivery(MONDAY, (Sticks("panel-sand", "12-6", 3),)), Delivery(THURSDAY)))
    plan = planned(asked, Moment(WEDNESDAY, WEDNESDAY))
    assert [order.closed for order in plan.orders] == [True]
    assert plan.bill == Decimal("29.40")


def test_a_job_moved_to_another_day_is_planned_there() -> None:
    """What the report says was cut of it on Monday is left out."""
    report = Report(MONDAY, (Done("north-wall", 0, 2),), (Sticks("panel-sand", "12-6", 2),))
    asked = replace(with_thursdays_delivery(), jobs=(replace(NORTH, date=THURSDAY),), reports=(report,))
    plan = planned(asked, Moment(TUESDAY, TUESDAY))
    assert plan.days[0].job.required[0].quantity == 1


def test_the_same_week_gives_the_same_plan() -> None:
    """Work is counted, not timed."""
    assert planned(with_rack()) == planned(with_rack())


MOVED = replace(NORTH, date=MONDAY - timedelta(days=3))
ALL_AND_ONE = (Report(MONDAY, (Done("north-wall", 0, 4),)),)
BAD: dict[str, tuple[Week, str]] = {
    "date_outside_week": (replace(week(), jobs=(MOVED,)), "#/jobs/north-wall/date"),
    "job_twice": (replace(week(), jobs=(NORTH, NORTH)), "#/jobs/north-wall"),
    "offcut_twice": (replace(with_rack(), rack=with_rack().rack * 2), "#/rack/R-17"),
    "offcut_unknown": (replace(week(), reports=(Report(MONDAY, used=("R-99",)),)), "#/rack/R-99"),
    "cut_too_many": (replace(week(), reports=ALL_AND_ONE), "#/jobs/north-wall/required/0"),
    "piece_unknown": (replace(week(), reports=(Report(MONDAY, (Done("shed", 0, 1),)),)), "#/jobs/shed/required/0"),
    "delivery_twice": (replace(week(), deliveries=(Delivery(MONDAY),) * 2), "#/deliveries/0/date"),
    "longer_than_stock": (
        replace(week(), materials=(replace(PANEL, settings=replace(PANEL.settings, lap=None)),),
                jobs=(DatedJob("m", MONDAY, (Required("A", "panel-sand", inches(151)),)),)),
        "#/jobs/m/required/0/length",
    ),
}  # fmt: skip


@pytest.mark.parametrize("code", BAD)
def test_what_is_wrong_is_named(code: str) -> None:
    """Each problem has its code and the place that it speaks of."""
    asked, pointer = BAD[code]
    with pytest.raises(Unplannable) as refused:
        planned(asked)
    assert (code, pointer) in {(problem.code, problem.pointer) for problem in refused.value.problems}


def test_what_is_sold_by_the_carton_and_can_not_come_any_more_is_missing() -> None:
    """On Tuesday Monday's delivery is over and nothing came with it: the shed's three pieces have no sticks."""
    row = replace(PANEL.stock[0], carton=2, singles=False)
    late = replace(week(), materials=(replace(PANEL, stock=(row,)),))
    plan = planned(late, Moment(MONDAY, TUESDAY))
    assert [(entry.job, entry.quantity) for entry in plan.missing] == [("boat-shed", 3)]
