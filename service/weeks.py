"""``/v1/crews/{crew}/weeks/{week}``: a crew's week, its plan, and the runs that made it."""

from __future__ import annotations

import time

from flask import Blueprint, Response, jsonify, make_response

from service import access
from service.documented import Answer, documented
from service.preferences import wait_preferred
from service.problems import Problem, not_found
from service.rendering.week import render_run, render_week
from service.state import service, store
from service.strict_json import read_body
from service.week_keys import calendar, keep, kept_week, refuse_faults, refuse_past, week_key, weeks
from service.wire.job import units_of
from service.wire.week import WeekSchema, loaded, week_of
from solver.weekly.week import Week
from workers.nights import enqueue_asked
from workers.week_record import KeptWeek, WeekKey

BODY = ("not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "week-over")
"""What can be wrong with a request that brings a body."""
blueprint = Blueprint("weeks", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")


@blueprint.put("")
@documented(
    "Begin a crew's week, or change what it is planned with",
    body=WeekSchema,
    answers=[Answer(200, "Changed", "Week"), Answer(201, "Begun", "Week")],
    problems=[*BODY, "job-elsewhere"],
)
def put(crew: str, week: str) -> Response:
    """Set materials, deliveries, rack and limits; jobs and reports stay as they are."""
    key, body = week_key(crew, week), read_body()
    year, number = calendar(week)

    def apply(before: Week | None) -> Week:
        after = loaded(WeekSchema, body, units_of(body), lambda data: week_of(data, crew, year, number, before))
        refuse_faults(after, before, "#")
        return after

    kept = keep(key, apply)
    return answer(kept, 201 if kept.version == 1 else 200)


@blueprint.get("")
@documented("Look at a crew's week", answers=[Answer(200, "The week and its plan", "Week")], problems=["not-found"])
def look(crew: str, week: str) -> Response:
    """Return the week as it is now, with the plan made last."""
    return answer(kept_week(week_key(crew, week)), 200)


@blueprint.delete("")
@documented("Forget a crew's week", answers=[Answer(204, "It is forgotten")], problems=["not-found"])
def forget(crew: str, week: str) -> Response:
    """Remove the week with its jobs and its plan."""
    if not weeks().forget(week_key(crew, week)):
        raise not_found()
    return make_response("", 204)


@blueprint.post("/plan")
@documented(
    "Plan a crew's week now",
    answers=[Answer(200, "Planned within Prefer: wait", "Week"), Answer(202, "It will be planned", "Week")],
    problems=["not-found", "week-over", "too-many"],
    headers=("Prefer",),
)
def plan(crew: str, week: str) -> Response:
    """Have the week planned as it is now, ahead of the night."""
    access.spend_turn(store(), service().config)
    key = week_key(crew, week)
    kept_week(key)
    refuse_past(key)
    version = weeks().ask(key)
    enqueue_asked(weeks(), key)
    wait = wait_preferred()
    kept = _wait_for(key, version, min(wait or 0, service().config.longest_wait))
    return answer(kept, 202 if kept.asked else 200)


@blueprint.get("/runs")
@documented("List the runs", answers=[Answer(200, "Oldest first", "WeekRuns")], problems=["not-found"])
def runs(crew: str, week: str) -> Response:
    """Return what every run did: when, what changed, and the bill before and after."""
    key = week_key(crew, week)
    kept_week(key)
    return jsonify({"runs": [render_run(run) for run in weeks().runs(key)]})


def answer(kept: KeptWeek, status: int) -> Response:
    """Return a week as a response."""
    response = make_response(jsonify(render_week(kept)), status)
    response.set_etag(f"{kept.key.digest[:8]}-{kept.version}-{kept.planned}-{kept.asked}")
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def planned_week(key: WeekKey) -> KeptWeek:
    """Return a week that has a plan. Raises ``Problem`` where it has none yet."""
    kept = kept_week(key)
    if kept.plan is None:
        raise Problem("not-ready", "The week has not been planned yet; post to its plan, or wait for the night.")
    return kept


def _wait_for(key: WeekKey, version: int, seconds: float) -> KeptWeek:
    """Look again until what was asked for is done or the time is over; where too many wait already, not at all."""
    kept = kept_week(key)
    if not seconds or not service().waiters.acquire(blocking=False):
        return kept
    try:
        until = time.monotonic() + seconds
        while kept.asked >= version and time.monotonic() < until and not service().stopping.wait(0.05):
            kept = kept_week(key)
    finally:
        service().waiters.release()
    return kept
