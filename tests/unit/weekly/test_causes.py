"""Why a week is planned otherwise: one change each to the week of ``tests.support.weeks``, after it was planned."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.weekly.summary import causes
from solver.weekly.week import DatedJob, Delivery, Done, Sticks, Week
from tests.scenario import PANEL
from tests.support.weeks import FRIDAY, MONDAY, NORTH, SHED, planned, week

STOCK = PANEL.stock[0].id
REPORT = planned(week()).days[0].as_planned()


def with_jobs(*jobs: DatedJob) -> Week:
    """Return the week with other jobs."""
    return replace(week(), jobs=jobs)


FEWER = replace(SHED, required=(replace(SHED.required[0], quantity=2),))
CHANGED = {
    "nothing": (week(), ()),
    "as on the sheet": (replace(week(), reports=(REPORT,)), ()),
    "as ordered": (replace(week(), deliveries=(Delivery(MONDAY, (Sticks("panel-sand", STOCK, 3),)),)), ()),
    "new": (with_jobs(NORTH, SHED, replace(SHED, id="porch")), ("porch came in",)),
    "moved": (
        with_jobs(NORTH, replace(SHED, date=FRIDAY)),
        ("boat-shed was moved from Thursday 26 November to Friday 27 November",),
    ),
    "cancelled": (with_jobs(NORTH), ("boat-shed was cancelled",)),
    "fewer": (with_jobs(NORTH, FEWER), ("the list of boat-shed was changed",)),
    "one not cut": (
        replace(week(), reports=(replace(REPORT, done=(Done("north-wall", 0, 2),)),)),
        ("Monday 23 November was not cut as on its sheet",),
    ),
    "two came": (
        replace(week(), deliveries=(Delivery(MONDAY, (Sticks("panel-sand", STOCK, 2),)),)),
        ("what came on Monday 23 November is not what was ordered",),
    ),
}


@pytest.mark.parametrize(("now", "told"), CHANGED.values(), ids=CHANGED)
def test_what_changed_is_told(now: Week, told: tuple[str, ...]) -> None:
    """That, and nothing else."""
    assert causes(now, planned(week())) == told


def test_a_first_plan_has_no_cause() -> None:
    """Nothing was announced."""
    assert causes(week(), None) == ()


def test_a_sheet_reported_otherwise_is_told_once() -> None:
    """It stays on the announced plan for the rest of the week, and is no news the night after."""
    now, told = CHANGED["one not cut"]
    assert causes(now, planned(week()), told) == ()
