"""What a reader of a week's plan must know about the days behind it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver.weekly.standing import Standing


def notes_of(standing: Standing) -> Iterator[str]:
    """Yield a sentence for each day that was not reported, and for each job that was not cut in full."""
    week, moment = standing.week, standing.moment
    reported = {report.date for report in week.reports}
    for day in standing.frozen:
        if day.date < moment.today and day.date not in reported:
            yield (
                f"{day.date.isoformat()} was not reported: what its sheet used is taken as gone, "
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
