"""Why a week is planned otherwise than before: what of it has changed since the plan that was announced, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from datetime import date

from solver.required import Required
from solver.weekly.plan import DayPlan, WeekPlan
from solver.weekly.week import DatedJob, Report, Week


def causes(week: Week, announced: WeekPlan | None, told: Collection[str] = ()) -> tuple[str, ...]:
    """Return a sentence for each job, report and delivery that is not as the announced plan had it.

    A sheet that was reported otherwise stays in every later plan; what was ``told`` of it before is not said again.
    """
    if announced is None:
        return ()
    reports = (words for words in _reports(week, announced) if words not in told)
    return (*_jobs(week, announced), *reports, *_deliveries(week, announced))


def _jobs(week: Week, announced: WeekPlan) -> Iterator[str]:
    sheets = {origin.job: day for day in announced.days for origin in day.origins}
    known = {job.id for job in week.jobs}
    done = {(entry.job, entry.item) for report in week.reports for entry in report.done}
    for job in week.jobs:
        sheet = sheets.get(job.id)
        if sheet is None:
            if not any((job.id, item) in done for item in range(len(job.required))):
                yield f"{job.id} came in"
        elif sheet.date != job.date:
            yield f"{job.id} was moved from {_said(sheet.date)} to {_said(job.date)}"
        elif _listed(job, done) != _on_sheet(job, sheet, done):
            yield f"the list of {job.id} was changed"
    yield from (f"{job} was cancelled" for job, day in sheets.items() if job not in known and not day.frozen)


def _listed(job: DatedJob, done: set[tuple[str, int]]) -> Counter[tuple[object, ...]]:
    """Count the pieces of a job by what they are, but for items of which some were reported cut."""
    items = [required for item, required in enumerate(job.required) if (job.id, item) not in done]
    return _counted(items)


def _on_sheet(job: DatedJob, sheet: DayPlan, done: set[tuple[str, int]]) -> Counter[tuple[object, ...]]:
    pairs = zip(sheet.origins, sheet.job.required, strict=True)
    return _counted([r for origin, r in pairs if origin.job == job.id and (job.id, origin.item) not in done])


def _counted(items: list[Required]) -> Counter[tuple[object, ...]]:
    found = Counter[tuple[object, ...]]()
    for one in items:
        found[one.mark, one.material, one.length, one.left_end, one.right_end, one.room] += one.pieces
    return found


def _reports(week: Week, announced: WeekPlan) -> Iterator[str]:
    sheets = {day.date: day for day in announced.days}
    for report in week.reports:
        sheet = sheets.get(report.date)
        if sheet is not None and _cut(report) != _cut(sheet.as_planned()):
            yield f"{_said(report.date)} was not cut as on its sheet"


def _cut(report: Report) -> tuple[object, ...]:
    """Return a report without regard to the order in which it says things, and to what lies in the van."""
    done, sticks = Counter[tuple[str, int]](), Counter[tuple[str, str]]()
    for entry in report.done:
        done[entry.job, entry.item] += entry.quantity
    for one in report.sticks:
        sticks[one.material, one.stock] += one.count
    kept = sorted((one.offcut.id, one.offcut.length) for one in report.kept)
    return done, sticks, sorted(report.used), kept


def _deliveries(week: Week, announced: WeekPlan) -> Iterator[str]:
    for delivery in week.deliveries:
        ordered, came = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
        for order in announced.orders:
            if order.date == delivery.date:
                ordered.update({(line.material, line.stock): line.sticks + line.spares for line in order.lines})
        for entry in delivery.received or ():
            came[entry.material, entry.stock] += entry.count
        if delivery.received is not None and +came != +ordered:
            yield f"what came on {_said(delivery.date)} is not what was ordered"


def _said(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"
