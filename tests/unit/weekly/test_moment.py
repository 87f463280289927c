"""When a week's night is due: every night at two by the crew's own clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from solver.weekly.moment import moment_of, night_due
from solver.weekly.week import WeekLimits
from tests.support.weeks import week

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
