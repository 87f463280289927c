"""``/v1/crews/{crew}/weeks/{week}/…``: its jobs, deliveries, rack, and reports of what was cut."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from flask import Blueprint, Response, make_response

from service.documented import Answer, documented
from service.problems import not_found
from service.routes.week_keys import changed, day_of, name_of, refuse_frozen, week_key, without_job
from service.routes.weeks import BODY, answer
from service.strict_json import read_body
from service.wire.material import offcut_of
from service.wire.week import (
    DeliverySchema,
    RackSchema,
    ReportSchema,
    WeekJobSchema,
    WeekSchema,
    dated_job_of,
    loaded,
    received_of,
    report_of,
)
from solver.weekly.week import DAYS, Delivery, Report, Week

_WEEK = [Answer(200, "The week as it is now", WeekSchema, headers=["ETag"])]
_MATCH = ["If-Match"]
_GONE = [Answer(204, "It is gone")]
blueprint = Blueprint("week_parts", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")


@blueprint.put("/jobs/<job>")
@documented("Put a job in the week, or change it", body=WeekJobSchema, answers=_WEEK,
            problems=[*BODY, "frozen", "job-elsewhere"], headers=_MATCH)  # fmt: skip
def put_job(crew: str, week: str, job: str) -> Response:
    """Put a job with its date; refused where it was, or would come to be, on a day whose sheet is frozen."""
    key, body, name = week_key(crew, week), read_body(), name_of(job)

    def apply(before: Week) -> Week:
        new = loaded(WeekJobSchema, body, before.units, lambda data: dated_job_of(data, name))
        old = next((other for other in before.jobs if other.id == name), None)
        reported = {report.date for report in before.reports}
        # a job that was not cut in full, by the report of its day, may be moved on
        stuck = [old.date] if old is not None and old != new and old.date not in reported else []
        if old != new and 0 <= before.day(new.date) < DAYS:
            refuse_frozen(before, *stuck, new.date)
        return replace(before, jobs=(*without_job(before, name).jobs, new))

    return answer(changed(key, apply, f"#/jobs/{name}"), 200)


@blueprint.delete("/jobs/<job>")
@documented(
    "Withdraw a job",
    answers=_GONE,
    problems=["not-found", "unplannable", "frozen", "week-over", "changed", "unreadable"],
    headers=_MATCH,
)
def withdraw(crew: str, week: str, job: str) -> Response:
    """Take a job out of the week, unless its day's sheet is frozen."""

    def apply(before: Week) -> Week:
        old = next((other for other in before.jobs if other.id == job), None)
        if old is None:
            raise not_found()
        refuse_frozen(before, old.date)
        return without_job(before, job)

    changed(week_key(crew, week), apply)
    return make_response("", 204)


@blueprint.put("/deliveries/<day>")
@documented("Say when sticks come, and what came", body=DeliverySchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_delivery(crew: str, week: str, day: str) -> Response:
    """Add a delivery, or say what it brought."""
    key, body, on = week_key(crew, week), read_body(), day_of(day)

    def apply(before: Week) -> Week:
        new = loaded(DeliverySchema, body, before.units, lambda data: Delivery(on, received_of(data)))
        others = tuple(other for other in before.deliveries if other.date != on)
        return replace(before, deliveries=tuple(sorted((*others, new), key=lambda delivery: delivery.date)))

    return answer(changed(key, apply), 200)


@blueprint.delete("/deliveries/<day>")
@documented("Take a delivery back", answers=_GONE,
            problems=["not-found", "unplannable", "week-over", "changed", "unreadable"], headers=_MATCH)  # fmt: skip
def drop_delivery(crew: str, week: str, day: str) -> Response:
    """Remove a delivery; refused where a job would come before any."""
    on = day_of(day)

    def apply(before: Week) -> Week:
        left = tuple(other for other in before.deliveries if other.date != on)
        if left == before.deliveries:
            raise not_found()
        return replace(before, deliveries=left)

    changed(week_key(crew, week), apply)
    return make_response("", 204)


@blueprint.put("/rack")
@documented("Say what lies on the rack", body=RackSchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_rack(crew: str, week: str) -> Response:
    """Set the offcuts on the rack in the shop as they are at the week's beginning; reports say what became of them."""
    key, body = week_key(crew, week), read_body()

    def apply(before: Week) -> Week:
        offcuts = loaded(RackSchema, body, before.units, lambda data: tuple(map(offcut_of, data["offcuts"])))
        return replace(before, rack=offcuts)

    return answer(changed(key, apply), 200)


@blueprint.put("/reports/<day>")
@documented("Report what was cut on a day", body=ReportSchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_report(crew: str, week: str, day: str) -> Response:
    """Say what was really cut, used and kept on a day; a report of the same day takes its place."""
    key, body, on = week_key(crew, week), read_body(), day_of(day)

    def apply(before: Week) -> Week:
        new = loaded(ReportSchema, body, before.units, lambda data: report_of(data, on))
        return replace(before, reports=tuple(sorted((*_others(before, on), new), key=lambda report: report.date)))

    return answer(changed(key, apply), 200)


@blueprint.delete("/reports/<day>")
@documented("Take a report back", answers=_GONE,
            problems=["not-found", "unplannable", "week-over", "changed", "unreadable"], headers=_MATCH)  # fmt: skip
def drop_report(crew: str, week: str, day: str) -> Response:
    """Remove the report of a day."""
    on = day_of(day)

    def apply(before: Week) -> Week:
        if len(_others(before, on)) == len(before.reports):
            raise not_found()
        return replace(before, reports=_others(before, on))

    changed(week_key(crew, week), apply)
    return make_response("", 204)


def _others(week: Week, on: date) -> tuple[Report, ...]:
    return tuple(report for report in week.reports if report.date != on)
