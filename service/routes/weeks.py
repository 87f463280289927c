"""``/v1/crews/{crew}/weeks/{week}``: a crew's week, its parts, its plan, and the runs that made it."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response

from service import week_changes
from service.http.documented import Answer, documented
from service.http.preferences import is_known, require_match, tell_wait, wait_preferred
from service.http.problems import not_found
from service.http.strict_json import read_body
from service.http.waiting import Waited, held
from service.week_racks import back_on_rack
from service.weeks import (
    as_it_stands,
    day_of,
    etag_of,
    kept_week,
    name_of,
    no_week,
    week_key,
    weeks,
)
from service.wire.rack import OnRackListSchema, render_rack
from service.wire.week import (
    DeliverySchema,
    RackSchema,
    WeekJobSchema,
    WeekSchema,
    dated_job_of,
    loaded,
    render_runs,
    render_week,
)
from service.wire.week_plan import WeekRunsSchema
from service.wire.week_report import ReportSchema
from solver.weekly.week import DatedJob, Week
from workers.weeks.record import KeptWeek

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
    kept = week_changes.put_week(week_key(crew, week), read_body())
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
    if not weeks().forget(week_key(crew, week), lambda kept: require_match(etag_of(as_it_stands(kept)))):
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
    preferred = wait_preferred()

    def told(waited: Waited[KeptWeek]) -> Response:
        response = answer(waited.value, 202 if waited.value.asked else 200)
        tell_wait(response, preferred, waited.seconds)
        return response

    return held(week_changes.plan_now(week_key(crew, week)), preferred or 0, told)


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
    body, name = read_body(), name_of(job)

    def make(before: Week) -> DatedJob:
        return loaded(WeekJobSchema, body, before.units, lambda data: dated_job_of(data, name))

    return answer(week_changes.put_job(week_key(crew, week), name, make), 200)


@parts.delete("/jobs/<job>")
@documented(
    "Withdraw a job",
    answers=_GONE,
    problems=["not-found", "unplannable", "frozen", "week-over", "changed", "unreadable"],
    headers=_MATCH,
)
def withdraw(crew: str, week: str, job: str) -> Response:
    """Take a job out of the week, unless its day's sheet is frozen."""
    week_changes.withdraw(week_key(crew, week), job)
    return make_response("", 204)


@parts.put("/deliveries/<day>")
@documented("Say when sticks come, and what came", body=DeliverySchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_delivery(crew: str, week: str, day: str) -> Response:
    """Add a delivery, or say what it brought."""
    return answer(week_changes.put_delivery(week_key(crew, week), day_of(day), read_body()), 200)


@parts.delete("/deliveries/<day>")
@documented("Take a delivery back", answers=_GONE,
            problems=["not-found", "unplannable", "week-over", "changed", "unreadable"], headers=_MATCH)  # fmt: skip
def drop_delivery(crew: str, week: str, day: str) -> Response:
    """Remove a delivery; refused where a job would come before any."""
    week_changes.drop_delivery(week_key(crew, week), day_of(day))
    return make_response("", 204)


@parts.put("/rack")
@documented("Say what lies on the rack", body=RackSchema, answers=_WEEK, problems=BODY, headers=_MATCH)
def put_rack(crew: str, week: str) -> Response:
    """Set the offcuts on the crew's own rack at the week's beginning; reports say what became of them."""
    return answer(week_changes.put_rack(week_key(crew, week), read_body()), 200)


@parts.post("/rack/back")
@documented(
    "Give back to the rack that all share",
    answers=[Answer(200, "What lies there now", OnRackListSchema)],
    problems=["not-found", "unreadable", "unplannable"],
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
    return answer(week_changes.put_report(week_key(crew, week), day_of(day), read_body()), 200)


@parts.delete("/reports/<day>")
@documented("Take a report back", answers=_GONE,
            problems=["not-found", "unplannable", "week-over", "changed", "unreadable"], headers=_MATCH)  # fmt: skip
def drop_report(crew: str, week: str, day: str) -> Response:
    """Remove the report of a day."""
    week_changes.drop_report(week_key(crew, week), day_of(day))
    return make_response("", 204)
