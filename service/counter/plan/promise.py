"""Whether an order can be had by the day it is wanted, as far as it was said how long one takes and what is there."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from solver.job import Job
from solver.lengths import say
from solver.order import ordered
from solver.plan import CutPlan, OrderLine
from workers.orders.company import Company
from workers.plans.record import Record

_SATURDAY = 5


def promise(record: Record, company: Company, job: Job, plan: CutPlan) -> str:
    """Return in words by when an order from stock is ready, and what is short for it; empty if nobody said anything.

    What is there counts as it was said of the stock lengths; of those where it was not said, that is told.
    """
    wanted, short = record.particulars.wanted_by, list(shortages(job, plan))
    missing = f"Short: {'; '.join(short)}." if short else ""
    if company.ready_days is None:
        unsaid = f"Wanted by {said(wanted)}. The settings do not say how many days an order takes." if wanted else ""
        return " ".join(filter(None, (unsaid, missing)))
    ready = ready_on(record.created_at.astimezone().date(), company.ready_days)
    if wanted is None:
        return " ".join(filter(None, (f"From stock it is ready on {said(ready)}.", missing)))
    late = ready > wanted
    answer = "No" if late else "Not all of it" if short else "Yes"
    unknown = sorted({f"{say(line.length, job.units)} {line.material}" for line in _uncounted(job, plan)})
    doubt = f"How many there are of {', '.join(unknown)} was not said." if unknown and not late else ""
    told = f"By {said(wanted)}? {answer}: from stock it is ready on {said(ready)}."
    return " ".join(filter(None, (told, missing, doubt)))


def shortages(job: Job, plan: CutPlan) -> Iterator[str]:
    """Yield what the stock that is there does not come to: sticks ordered beyond it, and pieces that stay uncut."""
    rows = {(material.id, row.id): row for material in job.materials for row in material.stock}
    for line in plan.order:
        row = rows[line.material, line.stock]
        count = ordered(line, row)
        if row.available is not None and count > row.available:
            yield f"{count - row.available} of {count} × {say(line.length, job.units)} {line.material}"
    for entry in plan.not_cut:
        item = job.required[entry.item]
        yield f"{entry.quantity} × {say(item.length, job.units)} {item.material}, mark {entry.mark}, can't be cut"


def _uncounted(job: Job, plan: CutPlan) -> Iterator[OrderLine]:
    """Yield the lines of the order of which it was not said how many sticks there are."""
    counted = {(each.id, row.id) for each in job.materials for row in each.stock if row.available is not None}
    return (line for line in plan.order if (line.material, line.stock) not in counted)


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
