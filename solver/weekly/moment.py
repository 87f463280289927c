"""What the hour means for a week: which sheets are frozen, and which night's plan is due. It reads no clock itself."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from solver.weekly.plan import WeekPlan
from solver.weekly.week import DAYS, Week

NIGHT = time(2)
"""The hour, local time, from which the plan for the coming day is due; before any sheet is frozen."""


@dataclass(frozen=True, slots=True)
class Moment:
    """When a week is planned: ``today``, the first day whose sheet may still change, and the plan announced before."""

    today: date
    open_from: date
    announced: WeekPlan | None = None


def moment_of(week: Week, now: datetime, announced: WeekPlan | None = None) -> Moment:
    """Return the moment that ``now`` (with a time zone) is for a week."""
    here = _local(week.limits.timezone, now)
    frozen = here.time() >= week.limits.freeze_at
    open_from = here.date() + timedelta(days=week.limits.freeze_days + frozen)
    return Moment(here.date(), open_from, announced)


def night_due(timezone: str, monday: date, now: datetime) -> date | None:
    """Return the day whose night's plan was due last, or None outside the week and the one before it.

    Local wall time less the hour of the night: each date comes once, whether clocks are put forward or back.
    """
    day = (_local(timezone, now) - timedelta(hours=NIGHT.hour)).date()
    return day if -DAYS <= (day - monday).days < DAYS else None


def _local(timezone: str, now: datetime) -> datetime:
    return now.astimezone(ZoneInfo(timezone)).replace(tzinfo=None)
