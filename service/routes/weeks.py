"""``/v1/crews/{crew}/weeks/{week}``: a crew's week, its plan, and the runs that made it."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response

from service import access
from service.documented import Answer, documented
from service.preferences import is_known, require_match, tell_wait, wait_preferred
from service.problems import not_found
from service.routes.week_keys import (
    calendar,
    etag_of,
    keep,
    kept_week,
    no_week,
    refuse_faults,
    refuse_past,
    week_key,
    weeks,
)
from service.strict_json import read_body
from service.waiting import wait
from service.wire.job import units_of
from service.wire.week import WeekSchema, loaded, render_runs, render_week, week_of
from service.wire.week_plan import WeekRunsSchema
from solver.weekly.week import Week
from workers.scheduler import enqueue_asked
from workers.week_record import KeptWeek

BODY = (
    "not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "week-over", "changed",
    "unreadable",
)  # fmt: skip
"""What can be wrong with a request that brings a body."""
blueprint = Blueprint("weeks", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")


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
    key, body = week_key(crew, week), read_body()
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
    problems=["not-found", "week-over", "too-many", "unreadable"],
    headers=("Prefer",),
)
def plan(crew: str, week: str) -> Response:
    """Have the week planned as it is now, ahead of the night."""
    access.spend_turn("plans")
    key = week_key(crew, week)
    kept_week(key)
    refuse_past(key)
    version = weeks().ask(key)
    enqueue_asked(weeks(), key)
    preferred = wait_preferred()
    waited = wait(kept_week(key), lambda: kept_week(key), lambda kept: kept.asked < version, preferred or 0)
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
