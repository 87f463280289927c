"""Every job's pieces are on its day and on no other, as the week asks for them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from solver.checking.fault import Fault, told
from solver.materials import Material
from solver.required import Required
from solver.weekly.plan import DayPlan, WeekPlan
from solver.weekly.week import Week


def check_jobs(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check the days and what each asks for; a frozen day is as it was announced and answers for nothing here."""
    dates = [day.date for day in plan.days]
    if dates != sorted(set(dates)):
        yield Fault("day", "#/days", told("each day once, in order", dates))
    for day in plan.days:
        if not week.monday <= day.date < week.monday + timedelta(days=7):
            yield Fault("day", _place(day), told(f"a day of {week.name}", day.date.isoformat()))
        if day.frozen != (day.date < open_from):
            yield Fault("day", _place(day), told(f"frozen {day.date < open_from}", day.frozen))
        if not day.frozen:
            yield from _asked(week, day)
    yield from _every_job(week, open_from, plan)


def _place(day: DayPlan) -> str:
    return f"#/days/{day.date.isoformat()}"


def _asked(week: Week, day: DayPlan) -> Iterator[Fault]:
    jobs = {job.id: job for job in week.jobs}
    if day.job.materials != _materials(week):
        yield Fault("material", _place(day), told("the week's materials", "others"))
    if len(day.origins) != len(day.job.required):
        yield Fault("job", _place(day), told(f"{len(day.job.required)} origins", len(day.origins)))
        return
    for item, (origin, required) in enumerate(zip(day.origins, day.job.required, strict=True)):
        job, place = jobs.get(origin.job), f"{_place(day)}/required/{item}"
        if job is None or not 0 <= origin.item < len(job.required):
            yield Fault("job", place, told("an item of the week", origin))
        elif job.date != day.date:
            yield Fault("job", place, told(f"{origin.job} on {job.date.isoformat()}", day.date.isoformat()))
        elif _measure(required) != _measure(job.required[origin.item]):
            yield Fault("job", place, told(_measure(job.required[origin.item]), _measure(required)))


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
                yield Fault("job", f"#/jobs/{job.id}/required/{item}", told(f"{left} to be cut", asked[job.id, item]))
