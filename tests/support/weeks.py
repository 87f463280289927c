"""One crew's week that a reader can check by hand, and its one-feature variants.

Monday, the north wall of Tern Cottage wants three pieces of 100 in; Thursday, the shed wants three of 50 in. Panels
are 150 in at 9.80 and come on Monday. Alone, Monday takes three panels and leaves 3 x 50 in, Thursday takes one more:
four, 39.20. Pooled, Monday's offcuts do Thursday's pieces: three, 29.40, with three offcuts in the van for three
nights; 450 in can't come out of two panels: proven.
"""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from solver.lengths import Unit
from solver.materials import FactoryEnd, Offcut
from solver.required import Required
from solver.weekly.moment import NIGHT, Moment
from solver.weekly.plan import WeekPlan
from solver.weekly.planning import SECONDS, plan_week
from solver.weekly.week import DatedJob, Delivery, Week, WeekLimits
from tests.scenario import PANEL, inches

MONDAY = date(2026, 11, 23)
TUESDAY, WEDNESDAY, THURSDAY, FRIDAY = (MONDAY + timedelta(days=n) for n in range(1, 5))
BEFORE = Moment(MONDAY - timedelta(days=1), MONDAY)
"""The Sunday before: nothing is frozen."""
NORTH = DatedJob("north-wall", MONDAY, (Required("A", "panel-sand", inches(100), 3),), "Tern Cottage, north wall")
SHED = DatedJob("boat-shed", THURSDAY, (Required("B", "panel-sand", inches(50), 3),), "Tern Cottage, boat shed")


def monday_due() -> date:
    """Return the Monday whose week is due to be planned; before the hour of the night the day before is not over."""
    day = (datetime.now(UTC) - timedelta(hours=NIGHT.hour)).date()
    return day + timedelta(days=7 - day.weekday())


def week() -> Week:
    """Three panels, 29.40; alone four, 39.20."""
    return Week(
        "tern", 2026, 48, Unit("in"), (PANEL,), (NORTH, SHED), (Delivery(MONDAY),), limits=WeekLimits(carry=None)
    )


def with_carry(limit: int) -> Week:
    """Only so many offcuts may lie in the van a night."""
    return replace(week(), limits=WeekLimits(carry=limit))


def with_shortest(length: int) -> Week:
    """Only offcuts so long, in inches, may be carried."""
    return replace(week(), limits=WeekLimits(shortest_kept=inches(length)))


def with_rack() -> Week:
    """An offcut of 61 1/2 in lies on the rack in the shop: a 50 comes out of it, and only two need be carried."""
    return replace(week(), rack=(Offcut("R-17", "panel-sand", inches("61.5"), 1, FactoryEnd.LEFT),))


def with_thursdays_delivery() -> Week:
    """A second delivery on Thursday."""
    return replace(week(), deliveries=(Delivery(MONDAY), Delivery(THURSDAY)))


def in_another_week(asked: Week, year: int, number: int) -> Week:
    """The same week moved to another of the calendar."""
    days = date.fromisocalendar(year, number, 1) - asked.monday
    jobs = tuple(replace(job, date=job.date + days) for job in asked.jobs)
    deliveries = tuple(replace(delivery, date=delivery.date + days) for delivery in asked.deliveries)
    return replace(asked, year=year, number=number, jobs=jobs, deliveries=deliveries)


def planned(asked: Week, moment: Moment = BEFORE, seconds: float = SECONDS) -> WeekPlan:
    """Return the plan of a week."""
    return plan_week(asked, moment, time.monotonic, seconds=seconds)
