"""Can it be had by Friday: how long an order takes, what is there, and what is short."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from time import monotonic

import pytest

from service.counter.plan.plan_page import promise
from solver import plan_job
from solver.job import Job
from tests.scenario import PANEL, PANEL_12_6, shed, with_limited_stock, with_panel
from workers.orders.company import Company
from workers.orders.particulars import Particulars
from workers.plans.record import Record, State

MONDAY, FRIDAY = datetime(2026, 11, 30, 12, tzinfo=UTC), date(2026, 12, 4)
COUNTED = with_panel(stock=(replace(PANEL_12_6, available=20),))
WITH_SPARES = with_panel(
    stock=(replace(PANEL_12_6, available=8),), settings=replace(PANEL.settings, spare_percent=Decimal(100))
)
"""Six panels are needed and six spares asked for; with them they are four more than are there."""


def told(job: Job, days: int | None = 2, wanted: date | None = FRIDAY) -> str:
    """Return what is said of an order taken on a Monday."""
    record = Record(
        id="", client="", state=State.SUCCEEDED, queue="", version=1, generation=1, deaths=0, created_at=MONDAY,
        started_at=None, finished_at=MONDAY, expires_at=None, solve_ms=0, cost=None, bound=None, cancel_asked=False,
        has_plan=True, failure=None, particulars=Particulars(wanted_by=wanted),
    )  # fmt: skip
    return promise(record, Company(ready_days=days), job, plan_job(job, monotonic))


@pytest.mark.parametrize(("job", "expected"), [
    (COUNTED, "By Friday 4 December? Yes: from stock it is ready on Wednesday 2 December."),
    (shed(), ("By Friday 4 December? Yes: from stock it is ready on Wednesday 2 December. "
             "How many there are of 12'-6\" panel-sand was not said.")),
    (with_limited_stock(), ("By Friday 4 December? Not all of it: from stock it is ready on Wednesday 2 December. "
                           "Short: 1 × 9'-6\" panel-sand, mark A, can't be cut; "
                           "1 × 34 1/2\" panel-sand, mark C, can't be cut.")),
    (WITH_SPARES, ("By Friday 4 December? Not all of it: from stock it is ready on Wednesday 2 December. "
                 "Short: 4 of 12 × 12'-6\" panel-sand.")),
])  # fmt: skip
def test_what_is_short_is_said_with_the_day(job: Job, expected: str) -> None:
    """Two working days from Monday are Wednesday; where the stock does not do, what is missing is named."""
    assert told(job) == expected


def test_a_day_that_is_too_soon_and_one_that_nobody_named() -> None:
    """Ten working days are beyond Friday; what is short is said without a day too."""
    assert told(shed(), days=10) == "By Friday 4 December? No: from stock it is ready on Monday 14 December."
    assert told(COUNTED, wanted=None) == "From stock it is ready on Wednesday 2 December."
    assert told(COUNTED, days=None, wanted=None) == ""
    assert told(WITH_SPARES, days=None, wanted=None) == "Short: 4 of 12 × 12'-6\" panel-sand."
