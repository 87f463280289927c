"""What a reader of a week's plan must know about the days behind it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver.weekly.standing import Standing


def notes_of(standing: Standing) -> Iterator[str]:
    """Yield a sentence for each day not reported, each job not cut in full, and each job that is on no sheet."""
    week, moment = standing.week, standing.moment
    listed = {(day.date, origin.job) for day in standing.frozen for origin in day.origins}
    for job in week.jobs:
        if moment.today <= job.date < moment.open_from and (job.date, job.id) not in listed:
            day = job.date.isoformat()
            yield f"{job.id} came after the sheet of {day} was made and is not on it; give it a later date"
    reported = {report.date for report in week.reports}
    for sheet in standing.frozen:
        if sheet.date < moment.today and sheet.date not in reported:
            yield (
                f"{sheet.date.isoformat()} was not reported: what its sheet used is taken as gone, "
                "and what it would have left is not planned with"
            )
    done: Counter[str] = Counter()
    for report in week.reports:
        for entry in report.done:
            done[entry.job] += entry.quantity
    for job in week.jobs:
        wanted = sum(required.pieces for required in job.required)
        if job.date < moment.today and job.date in reported and done[job.id] < wanted:
            yield (
                f"{job.id}: {done[job.id]} of {wanted} pieces were reported cut on {job.date.isoformat()}; "
                "give it a later date to have the rest planned"
            )
