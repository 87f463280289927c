"""``/v1/crews/{crew}/weeks/{week}``: a crew's week, its parts, its plan, and the runs that made it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from flask import Blueprint, Response, jsonify, make_response

from service.catalogue import filled
from service.documented import Answer, documented
from service.plans import wait
from service.preferences import is_known, require_match, tell_wait, wait_preferred
from service.problems import not_found
from service.strict_json import read_body
from service.week_racks import back_on_rack, note_used
from service.weeks import (
    calendar,
    changed,
    day_of,
    etag_of,
    keep,
    kept_week,
    name_of,
    no_week,
    refuse_faults,
    refuse_frozen,
    refuse_other_items,
    refuse_past,
    refuse_to_come,
    week_key,
    weeks,
    without_job,
)
from service.wire.job import units_of
from service.wire.material import offcut_of
from service.wire.rack import OnRackListSchema, render_rack
from service.wire.week import (
    DeliverySchema,
    RackSchema,
    ReportSchema,
    WeekJobSchema,
    WeekSchema,
    dated_job_of,
    loaded,
    received_of,
    render_runs,
    render_week,
    report_of,
    week_of,
)
from service.wire.week_plan import WeekRunsSchema
from solver.weekly.week import DAYS, Delivery, Report, Week
from workers.scheduler import enqueue_asked
from workers.week_record import KeptWeek

BODY = (
    "not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "week-over", "changed",
    "unreadable",
)  # fmt: skip
"""What can be wrong with a request that brings a body."""
blueprint = Blueprint("weeks", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")
parts = Blueprint("week_parts", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")
_WEEK = [Answer(200, "The week as it is now", WeekSchema, headers=["ETag"])]
_MATCH = ["If-Match"]
_GONE = [Answer(204, "It is gone")]


@blueprint.put("")
@documented(
    "Begin a crew's week, or change what it is planned with",
    body=WeekSchema,
    answers=[
        Answer(200, "Changed", WeekSchema, headers=["ETag"]),
        Answer(201, "Begun", WeekSchema, headers=["ETag"]),
    ],
    problems=[*BODY, "job-elsewhere"],
    headers=["If-Match"],
)
def put(crew: str, week: str) -> Response:
    """Set materials, deliveries, rack and limits; jobs and reports stay as they are."""
    key, body = week_key(crew, week), filled(read_body())
    year, number = calendar(week)

    def apply(before: Week | None) -> Week:
        after = loaded(WeekSchema, body, units_of(body), lambda data: week_of(data, crew, year, number, before))
        refuse_faults(after, before, "#")
        return after

    kept = keep(key, apply, anew=True)
    return answer(kept, 201 if kept.version == 1 else 200)


@blueprint.get("")
@documented(
    "Look at a crew's week",
    answers=[
        Answer(200, "The week and its plan", WeekSchema, headers=["ETag"]),
        Answer(304, "Nothing has changed", headers=["ETag"]),
    ],
    problems=["not-found", "unreadable"],
    headers=["If-None-Match"],
)
def look(crew: str, week: str) -> Response:
    """Return the week as it is now, with the plan made last."""
    kept = kept_week(week_key(crew, week))
    return _with_caching(make_response("", 304), kept) if is_known(etag_of(kept)) else answer(kept, 200)


@blueprint.delete("")
@documented(
    "Forget a crew's week",
    answers=[Answer(204, "It is forgotten")],
    problems=["not-found", "changed"],
    headers=["If-Match"],
)
def forget(crew: str, week: str) -> Response:
    """Remove the week with its jobs and its plan."""
    if not weeks().forget(week_key(crew, week), lambda kept: require_match(etag_of(kept))):
        raise not_found()
    return make_response("", 204)


@blueprint.post("/plan")
@documented(
    "Plan a crew's week now",
    answers=[
        Answer(200, "Planned within Prefer: wait", WeekSchema, headers=("ETag", "Preference-Applied")),
        Answer(202, "It will be planned", WeekSchema, headers=("ETag", "Preference-Applied")),
    ],
    problems=["not-found", "week-over", "unreadable"],
    headers=("Prefer",),
)
def plan(crew: str, week: str) -> Response:
    """Have the week planned as it is now, ahead of the night."""
    key = week_key(crew, week)
    kept_week(key)
    refuse_past(key)
    version = weeks().ask(key)
    enqueue_asked(weeks(), key)
    preferred = wait_preferred()
    waited = wait(
        kept_week(key), key.digest, lambda: kept_week(key), lambda kept: kept.asked < version, preferred or 0
    )
    response = answer(waited.value, 202 if waited.value.asked else 200)
    tell_wait(response, preferred, waited.seconds)
    return response


@blueprint.get("/runs")
@documented("List the runs", answers=[Answer(200, "Oldest first", WeekRunsSchema)], problems=["not-found"])
def runs(crew: str, week: str) -> Response:
    """Return what every run did: when, what changed, and the bill before and after."""
    key = week_key(crew, week)
    if not weeks().exists(key):
        raise no_week(key)
    return jsonify(render_runs(weeks().runs(key)))


def answer(kept: KeptWeek, status: int) -> Response:
    """Return a week as a response."""
    return _with_caching(make_response(jsonify(render_week(kept)), status), kept)


def _with_caching(response: Response, kept: KeptWeek) -> Response:
    response.set_etag(etag_of(kept))
    response.headers["Cache-Control"] = "private, no-cache"
    return response


@parts.put("/jobs/<job>")
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
        if old is not None:
            refuse_other_items(before, old, new)
        return replace(before, jobs=(*without_job(before, name).jobs, new))

    return answer(changed(key, apply, f"#/jobs/{name}"), 200)


@parts.delete("/jobs/<job>")
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


@parts.put("/deliveries/<day>")
@documented("Say when sticks come, and what came", body=DeliverySchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_delivery(crew: str, week: str, day: str) -> Response:
    """Add a delivery, or say what it brought."""
    key, body, on = week_key(crew, week), read_body(), day_of(day)

    def apply(before: Week) -> Week:
        new = loaded(DeliverySchema, body, before.units, lambda data: Delivery(on, received_of(data)))
        others = tuple(other for other in before.deliveries if other.date != on)
        return replace(before, deliveries=tuple(sorted((*others, new), key=lambda delivery: delivery.date)))

    return answer(changed(key, apply), 200)


@parts.delete("/deliveries/<day>")
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


@parts.put("/rack")
@documented("Say what lies on the rack", body=RackSchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_rack(crew: str, week: str) -> Response:
    """Set the offcuts on the crew's own rack at the week's beginning; reports say what became of them."""
    key, body = week_key(crew, week), read_body()

    def apply(before: Week) -> Week:
        offcuts = loaded(RackSchema, body, before.units, lambda data: tuple(map(offcut_of, data["offcuts"])))
        return replace(before, rack=(*offcuts, *before.held))

    return answer(changed(key, apply), 200)


@parts.post("/rack/back")
@documented(
    "Give back to the rack that all share",
    answers=[Answer(200, "What lies there now", OnRackListSchema)],
    problems=["not-found", "unreadable"],
)
def give_back(crew: str, week: str) -> Response:
    """Put what reports left, and no open sheet cuts, on the rack that all share; whole sticks once no job is open."""
    key = week_key(crew, week)
    given = back_on_rack(key)
    return jsonify(render_rack(given, kept_week(key).week.units))


@parts.put("/reports/<day>")
@documented("Report what was cut on a day", body=ReportSchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_report(crew: str, week: str, day: str) -> Response:
    """Say what was really cut, used and kept on a day; a report of the same day takes its place."""
    key, body, on = week_key(crew, week), read_body(), day_of(day)
    plan = kept_week(key).plan
    sheet = next((sheet for sheet in plan.days if sheet.date == on), None) if plan else None

    def apply(before: Week) -> Week:
        new = loaded(ReportSchema, body, before.units, lambda data: report_of(data, before, sheet, on))
        refuse_to_come(before, on)
        return replace(before, reports=tuple(sorted((*_others(before, on), new), key=lambda report: report.date)))

    kept = changed(key, apply, f"#/reports/{on.isoformat()}")
    note_used(kept)
    return answer(kept, 200)


@parts.delete("/reports/<day>")
@documented("Take a report back", answers=_GONE,
            problems=["not-found", "unplannable", "week-over", "changed", "unreadable"], headers=_MATCH)  # fmt: skip
def drop_report(crew: str, week: str, day: str) -> Response:
    """Remove the report of a day."""
    on = day_of(day)

    def apply(before: Week) -> Week:
        if len(_others(before, on)) == len(before.reports):
            raise not_found()
        return replace(before, reports=_others(before, on))

    note_used(changed(week_key(crew, week), apply))
    return make_response("", 204)


def _others(week: Week, on: date) -> tuple[Report, ...]:
    return tuple(report for report in week.reports if report.date != on)
