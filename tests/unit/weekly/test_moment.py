"""When a week's night is due: every night at two by the crew's own clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from solver.checking.week import check_week
from solver.weekly.moment import Moment, moment_of, night_due
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Delivery, Done, Report, Sticks, Week, WeekLimits
from tests.support.weeks import NORTH, TUESDAY, planned, week

MONDAY = date(2026, 11, 23)
HALIFAX = "America/Halifax"
"""Four hours behind UTC in November."""


@pytest.mark.parametrize(
    ("minute", "due"),
    [((24, 0, 30), 23), ((24, 1, 59), 23), ((24, 2, 0), 24), ((24, 23, 59), 24)],
)
def test_a_night_is_due_at_two_and_no_earlier(minute: tuple[int, int, int], due: int) -> None:
    """What a foreman reports after midnight is in the plan: README promises two o'clock in the crew's time zone."""
    day, hour, past = minute
    now = datetime(2026, 11, day, hour, past, tzinfo=ZoneInfo(HALIFAX))
    assert night_due(HALIFAX, MONDAY, now) == date(2026, 11, due)


def test_the_crews_clock_counts_not_the_servers() -> None:
    """Five o'clock UTC is one in Halifax: Tuesday's night is not due yet, an hour later it is."""
    dues = [night_due(HALIFAX, MONDAY, datetime(2026, 11, 24, hour, tzinfo=UTC)) for hour in (5, 6)]
    assert dues == [MONDAY, date(2026, 11, 24)]


@pytest.mark.parametrize(("hour", "first"), [(17, 25), (18, 26)])
def test_sheets_freeze_so_many_days_ahead_and_one_more_from_the_evening_on(hour: int, first: int) -> None:
    """With one day frozen, Tuesday before 18:00 may still change Wednesday's sheet; from 18:00 on it may not."""
    limits = WeekLimits(freeze_days=1, freeze_at=time(18), timezone=HALIFAX)
    asked = replace(week(), limits=limits)
    moment = moment_of(asked, datetime(2026, 11, 24, hour, tzinfo=ZoneInfo(HALIFAX)))
    assert (moment.today, moment.open_from) == (date(2026, 11, 24), date(2026, 11, first))


EVENING = WeekLimits(carry=None, freeze_at=time(18), timezone=HALIFAX)
"""A day's sheet and its order may change until its own evening."""
CUT = Report(MONDAY, (Done("north-wall", 0, 3),), (Sticks("panel-sand", "12-6", 3),))


def at_noon(asked: Week, announced: WeekPlan | None = None) -> Moment:
    """Monday at noon."""
    return moment_of(asked, datetime(2026, 11, 23, 12, tzinfo=ZoneInfo(HALIFAX)), announced)


def test_what_was_cut_before_its_hour_stays_on_the_order() -> None:
    """Monday's three panels came and are cut by noon: the bill still has them, and the shed's one is missing.

    Nothing was kept of Monday, and Monday's is the only delivery. Its sheet may still change.
    """
    asked = replace(week(), limits=EVENING)
    announced = planned(asked, at_noon(asked))
    reported = replace(asked, reports=(CUT,))
    moment = at_noon(reported, announced)
    plan = planned(reported, moment)
    assert (moment.open_from, moment.orders_from) == (MONDAY, TUESDAY)
    assert [(order.date, order.lines[0].sticks, order.closed) for order in plan.orders] == [(MONDAY, 3, True)]
    assert [(entry.job, entry.quantity) for entry in plan.missing] == [("boat-shed", 3)]
    assert not check_week(reported, moment.open_from, plan, moment.orders_from)


@pytest.mark.parametrize("reports", [(), (replace(CUT, sticks=()),)], ids=["no report", "offcuts alone"])
def test_an_order_stays_open_until_something_of_it_is_used(reports: tuple[Report, ...]) -> None:
    """Nobody has opened a stick: what Monday's delivery brings may change until its hour."""
    asked = replace(week(), limits=EVENING)
    moment = at_noon(replace(asked, reports=reports), planned(asked, at_noon(asked)))
    assert (moment.open_from, moment.orders_from) == (MONDAY, MONDAY)


def test_what_was_cut_of_a_later_days_delivery_is_not_there_twice() -> None:
    """On Tuesday three panels came and two of three pieces of 100 in were cut, all panels opened: no fourth is there.

    Tuesday's sheet may still change until the evening, and the order for the day may not: the third piece is missing.
    """
    north = replace(NORTH, date=TUESDAY)
    asked = replace(week(), jobs=(north,), deliveries=(Delivery(TUESDAY),), limits=EVENING)
    reported = replace(asked, reports=(replace(CUT, date=TUESDAY, done=(Done("north-wall", 0, 2),)),))
    noon = datetime(2026, 11, 24, 12, tzinfo=ZoneInfo(HALIFAX))
    moment = moment_of(reported, noon, planned(asked))
    plan = planned(reported, moment)
    assert [(order.date, order.lines[0].sticks, order.closed) for order in plan.orders] == [(TUESDAY, 3, True)]
    assert [(entry.job, entry.quantity) for entry in plan.missing] == [("north-wall", 1)]
    assert not check_week(reported, moment.open_from, plan, moment.orders_from)
    assert moment.standing
    faults = check_week(reported, moment.open_from, moment.standing, moment.orders_from)
    assert "delivery" in {fault.code for fault in faults}
