"""When the order for a delivery is final, earlier than the sheets of its day: by hand from ``tests.support.weeks``.

The van carries nothing and panels come on Monday and Thursday: three for the north wall, one for the shed's 3 x 50 in.
The yard wants Thursday's order by noon of the day before.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from solver.checking.week import check_week
from solver.required import Required
from solver.weekly.moment import Moment, moment_of
from solver.weekly.plan import WeekPlan
from solver.weekly.week import DatedJob, Week, WeekLimits
from tests.scenario import inches
from tests.support.weeks import (
    BEFORE,
    MONDAY,
    NORTH,
    SHED,
    THURSDAY,
    TUESDAY,
    WEDNESDAY,
    planned,
    with_thursdays_delivery,
)

ZONE = "America/Halifax"
LIMITS = WeekLimits(carry=0, order_at=time(12), order_days=1, timezone=ZONE)


def asked(shed: DatedJob = SHED) -> Week:
    """The week, with a shed of its own."""
    return replace(with_thursdays_delivery(), jobs=(NORTH, shed), limits=LIMITS)


def on_wednesday(hour: int, announced: WeekPlan) -> Moment:
    """Wednesday at an hour of the crew's clock; its own sheet froze at five."""
    return moment_of(asked(), datetime(2026, 11, 25, hour, tzinfo=ZoneInfo(ZONE)), announced)


def orders(plan: WeekPlan) -> list[tuple[date, int, bool]]:
    """Each delivery's panels, and whether they are final."""
    return [(order.date, order.lines[0].sticks, order.closed) for order in plan.orders]


@pytest.mark.parametrize(("hour", "first"), [(11, THURSDAY), (12, date(2026, 11, 27))])
def test_an_order_is_final_from_its_own_hour_on(hour: int, first: date) -> None:
    """Thursday's sheet may change until Thursday at five, its order until Wednesday noon."""
    moment = on_wednesday(hour, planned(asked()))
    assert (moment.open_from, moment.orders_from) == (THURSDAY, first)


@pytest.mark.parametrize(
    ("hour", "panels", "missing"), [(11, [(MONDAY, 3, True), (THURSDAY, 2, False)], 0),
                                    (12, [(MONDAY, 3, True), (THURSDAY, 1, True)], 3)],
)  # fmt: skip
def test_a_larger_shed_is_ordered_for_until_noon(hour: int, panels: list[tuple[date, int, bool]], missing: int) -> None:
    """Six pieces of 50 in are two panels; after noon one comes as it was ordered, and three pieces are missing."""
    larger = asked(replace(SHED, required=(Required("B", "panel-sand", inches(50), 6),)))
    plan = planned(larger, on_wednesday(hour, planned(asked())))
    assert (orders(plan), sum(entry.quantity for entry in plan.missing)) == (panels, missing)


def test_what_is_ordered_is_not_cut_before_it_comes() -> None:
    """On Tuesday, with all orders final, 40 in of a lean-to for Wednesday can't come out of Thursday's panel.

    Left as ordered, the panel does the shed on its day; with nothing carried nothing else is there.
    """
    announced = planned(asked())
    final = Moment(TUESDAY, WEDNESDAY, announced, date(2026, 11, 27))
    lean_to = DatedJob("lean-to", WEDNESDAY, (Required("L", "panel-sand", inches(40)),))
    plan = planned(replace(asked(), jobs=(NORTH, SHED, lean_to)), final)
    assert [(entry.job, entry.quantity) for entry in plan.missing] == [("lean-to", 1)]
    assert orders(plan) == [(MONDAY, 3, True), (THURSDAY, 1, True)]


def test_the_checker_sees_an_order_changed_after_its_hour() -> None:
    """The plan of Sunday orders on Thursday; held against a Thursday that may not change any more it is refused."""
    plan = planned(asked(), BEFORE)
    assert not check_week(asked(), MONDAY, plan)
    codes = {fault.code for fault in check_week(asked(), MONDAY, plan, date(2026, 11, 27))}
    assert codes == {"order"}
