"""The independent checker of weeks: no plan of a week leaves without it.

Every day's sheet is a job and a cut plan and passes the checker of plans by itself. This page holds the days
together, from the week as it was asked for and sharing no code with whoever planned it: each job's pieces on its day
and on no other, what is brought there by an earlier day or from the rack and used once, nothing cut before it is
delivered, no more carried at night than the van takes, and the figures a crew leader reads, which follow from the
sheets.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from solver.checking import check
from solver.checking.bench import Fault, mismatch
from solver.checking.week_carried import check_carried
from solver.checking.week_orders import check_orders
from solver.materials import Material
from solver.required import Required
from solver.weekly.plan import Compared, DayPlan, WeekPlan
from solver.weekly.week import Week


def check_jobs(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check the days and what each asks for; a frozen day is as it was announced and answers for nothing here."""
    dates = [day.date for day in plan.days]
    if dates != sorted(set(dates)):
        yield Fault("day", "#/days", mismatch("each day once, in order", dates))
    for day in plan.days:
        if not week.monday <= day.date < week.monday + timedelta(days=7):
            yield Fault("day", _place(day), mismatch(f"a day of {week.name}", day.date.isoformat()))
        if day.frozen != (day.date < open_from):
            yield Fault("day", _place(day), mismatch(f"frozen {day.date < open_from}", day.frozen))
        if not day.frozen:
            yield from _asked(week, day)
    yield from _every_job(week, open_from, plan)


def _place(day: DayPlan) -> str:
    return f"#/days/{day.date.isoformat()}"


def _asked(week: Week, day: DayPlan) -> Iterator[Fault]:
    jobs = {job.id: job for job in week.jobs}
    if day.job.materials != _materials(week):
        yield Fault("material", _place(day), mismatch("the week's materials", "others"))
    if len(day.origins) != len(day.job.required):
        yield Fault("job", _place(day), mismatch(f"{len(day.job.required)} origins", len(day.origins)))
        return
    for item, (origin, required) in enumerate(zip(day.origins, day.job.required, strict=True)):
        job, place = jobs.get(origin.job), f"{_place(day)}/required/{item}"
        if job is None or not 0 <= origin.item < len(job.required):
            yield Fault("job", place, mismatch("an item of the week", origin))
        elif job.date != day.date:
            yield Fault("job", place, mismatch(f"{origin.job} on {job.date.isoformat()}", day.date.isoformat()))
        elif _measure(required) != _measure(job.required[origin.item]):
            yield Fault("job", place, mismatch(_measure(job.required[origin.item]), _measure(required)))


def _materials(week: Week) -> tuple[Material, ...]:
    shortest = week.limits.shortest_kept
    changed = []
    for material in week.materials:
        settings = replace(material.settings, spare_percent=0 * material.settings.spare_percent)
        if shortest is not None:
            settings = replace(settings, keep_offcuts_from=shortest)
        changed.append(replace(material, settings=settings))
    return tuple(changed)


def _measure(required: Required) -> tuple[object, ...]:
    return (
        required.mark, required.material, required.length, required.left_end, required.right_end, required.room,
    )  # fmt: skip


def _every_job(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check that what is left to be cut of every job still open is asked for, piece by piece."""
    asked: Counter[tuple[str, int]] = Counter()
    for day in plan.days:
        if not day.frozen:
            for origin, required in zip(day.origins, day.job.required, strict=False):
                asked[origin.job, origin.item] += required.quantity * required.courses
    for job in week.jobs:
        for item, required in enumerate(job.required):
            done = sum(e.quantity for r in week.reports for e in r.done if (e.job, e.item) == (job.id, item))
            left = max(0, required.quantity * required.courses - done) if job.date >= open_from else 0
            if asked[job.id, item] != left:
                yield Fault(
                    "job", f"#/jobs/{job.id}/required/{item}", mismatch(f"{left} to be cut", asked[job.id, item])
                )


def check_sums(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check the comparison against the orders that are still open, and what is missing against the sheets."""
    del open_from
    if (plan.crew, plan.week) != (week.crew, week.name):
        yield Fault("week", "#", mismatch((week.crew, week.name), (plan.crew, plan.week)))
    yield from _missing(plan)
    named = [entry.material for entry in plan.compared]
    wanted = {r.material for day in plan.days if not day.frozen for r in day.job.required}
    if sorted(named) != sorted(wanted):
        yield Fault("compared", "#/compared", mismatch(sorted(wanted), sorted(named)))
    for entry in plan.compared:
        yield from _compared(week, plan, entry)
    cost = sum((entry.pooled.cost for entry in plan.compared if entry.priced), Decimal(0))
    if plan.bound is not None and plan.bound > cost:
        yield Fault("compared", "#/bound", mismatch(f"a bound not above {cost}", plan.bound))


def _missing(plan: WeekPlan) -> Iterator[Fault]:
    found = Counter({(m.job, m.item): m.quantity for m in plan.missing})
    uncut: Counter[tuple[str, int]] = Counter()
    for day in (day for day in plan.days if not day.frozen):
        for entry in day.plan.not_cut:
            origin = day.origins[entry.item]
            uncut[origin.job, origin.item] += entry.quantity
    if found != uncut:
        yield Fault("missing", "#/missing", mismatch(dict(uncut), dict(found)))


def _compared(week: Week, plan: WeekPlan, entry: Compared) -> Iterator[Fault]:
    place = f"#/compared/{entry.material}"
    material = next((m for m in week.materials if m.id == entry.material), None)
    lines = [line for o in plan.orders if not o.closed for line in o.lines if line.material == entry.material]
    sticks = sum(line.sticks for line in lines)
    if material is None:
        return
    cost = sum((line.sticks * (line.unit_price or 0) if material.priced else Decimal(line.sticks * line.length)
                for line in lines), Decimal(0))  # fmt: skip
    if (entry.pooled.sticks, entry.pooled.cost, entry.priced) != (sticks, cost, material.priced):
        yield Fault("compared", place, mismatch((sticks, cost), entry.pooled))
    if entry.bound is not None and not (entry.bound.cost <= entry.pooled.cost and entry.bound.sticks <= sticks):
        yield Fault("compared", place, mismatch(f"a bound not above {entry.pooled}", entry.bound))


__all__ = ["check_week"]


def check_week(week: Week, open_from: date, plan: WeekPlan) -> tuple[Fault, ...]:
    """Return everything wrong with ``plan``, whose sheets may change from ``open_from`` on; empty means it is right."""
    return tuple(_faults(week, open_from, plan))


def _faults(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    yield from check_jobs(week, open_from, plan)
    yield from _sheets(open_from, plan)
    yield from check_carried(week, open_from, plan)
    yield from check_orders(week, open_from, plan)
    yield from check_sums(week, open_from, plan)


def _sheets(open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check every sheet that may still change as a plan of its own; what it lacks is a question of the whole week."""
    for day in plan.days:
        if day.date >= open_from:
            for fault in check(day.job, day.plan):
                if fault.code != "not_cut" or not fault.place.startswith("#/required"):
                    place = f"#/days/{day.date.isoformat()}{fault.place.removeprefix('#')}"
                    yield Fault(fault.code, place, fault.detail)
