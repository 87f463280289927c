"""Whether an order can be had by the day it is wanted, as far as the company said how long one takes."""

from __future__ import annotations

from datetime import date, timedelta

from workers.orders.company import Company
from workers.record import Record

_SATURDAY = 5


def promise(record: Record, company: Company) -> str:
    """Return in words by when an order from stock is ready, and whether that is soon enough; empty if nobody said."""
    wanted = record.particulars.wanted_by
    if company.ready_days is None:
        return f"Wanted by {said(wanted)}. The settings do not say how many days an order takes." if wanted else ""
    ready = ready_on(record.created_at.astimezone().date(), company.ready_days)
    if wanted is None:
        return f"From stock it is ready on {said(ready)}."
    answer = "Yes" if ready <= wanted else "No"
    return f"By {said(wanted)}? {answer}: from stock it is ready on {said(ready)}."


def ready_on(ordered: date, days: int) -> date:
    """Return the day so many working days, Monday to Friday, after an order; one of a weekend counts from Monday."""
    day = ordered
    while day.weekday() >= _SATURDAY:
        day += timedelta(days=1)
    for _ in range(days):
        day += timedelta(days=1)
        while day.weekday() >= _SATURDAY:
            day += timedelta(days=1)
    return day


def said(day: date) -> str:
    """Return a day as one says it, ``Friday 4 December``."""
    return f"{day:%A} {day.day} {day:%B}"
