"""What the hour means for a week: which sheets are frozen, and which night's plan is due. It reads no clock itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from solver.weekly.plan import WeekPlan
from solver.weekly.week import DAYS, Week

NIGHT = time(2)
"""The hour, local time, from which the plan for the coming day is due; before any sheet is frozen."""


@dataclass(frozen=True, slots=True)
class Moment:
    """When a week is planned: ``today``, the first day whose sheet may still change, and the plan announced before.

    ``orders_from`` is the first day whose delivery may still change, none before the first open sheet.
    """

    today: date
    open_from: date
    announced: WeekPlan | None = None
    orders_from: date = date.min

    def __post_init__(self) -> None:
        """Let no order be open longer than its sheet."""
        object.__setattr__(self, "orders_from", max(self.open_from, self.orders_from))

    @property
    def standing(self) -> WeekPlan | None:
        """The announced plan as it stands by now, with the sheets and orders that are final since it was made."""
        if self.announced is None:
            return None
        days = tuple(replace(day, frozen=day.frozen or day.date < self.open_from) for day in self.announced.days)
        orders = tuple(
            replace(order, closed=order.closed or order.date < self.orders_from) for order in self.announced.orders
        )
        return replace(self.announced, days=days, orders=orders)


def moment_of(week: Week, now: datetime, announced: WeekPlan | None = None) -> Moment:
    """Return the moment that ``now`` (with a time zone) is for a week."""
    here, limits = _local(week.limits.timezone, now), week.limits
    open_from = _open_from(here, limits.freeze_at, limits.freeze_days)
    orders_from = open_from if limits.order_at is None else _open_from(here, limits.order_at, limits.order_days)
    return Moment(here.date(), open_from, announced, max(orders_from, _came_before(week, announced)))


def _came_before(week: Week, announced: WeekPlan | None) -> date:
    """Return the day after the last on which sticks were used: what was ordered until then has come.

    Ordered anew, what was used already would be on no order.
    """
    used = max((report.date for report in week.reports if report.sticks), default=None)
    if used is None or announced is None or all(order.date > used for order in announced.orders):
        return date.min
    return used + timedelta(days=1)


def _open_from(here: datetime, hour: time, days_before: int) -> date:
    """Return the first day that is not closed: each closes at the hour, so many days before."""
    return here.date() + timedelta(days=days_before + (here.time() >= hour))


def night_due(timezone: str, monday: date, now: datetime) -> date | None:
    """Return the day whose night's plan was due last, or None outside the week and the one before it.

    Local wall time less the hour of the night: each date comes once, whether clocks are put forward or back.
    """
    day = (_local(timezone, now) - timedelta(hours=NIGHT.hour)).date()
    return day if -DAYS <= (day - monday).days < DAYS else None


def _local(timezone: str, now: datetime) -> datetime:
    return now.astimezone(ZoneInfo(timezone)).replace(tzinfo=None)
