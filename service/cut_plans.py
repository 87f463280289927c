"""``/v1/cut-plans``: ask for a plan, look at it, stop it, forget it."""

from __future__ import annotations

import secrets
import time
from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, jsonify, make_response, request

from service import access
from service.documented import Answer, documented
from service.preferences import idempotency_key, wait_preferred
from service.problems import Problem, not_found
from service.query import whole_parameter
from service.rendering.patterns import render_stick
from service.resource import render
from service.state import service, store
from service.strict_json import fingerprint, read_body
from service.wire import read_job
from service.wire.job import JobSchema
from solver.job import Job
from solver.plan import CutPlan
from workers import queues
from workers.record import Record, State
from workers.store import Ask, KeyReused

ASK_AGAIN = "1"
"""Seconds after which it is worth looking again."""
HEEDED = ("Prefer", "Idempotency-Key")
"""Headers of a request to plan."""
TOLD = ("Location", "ETag", "Preference-Applied")
"""Headers of the answer to it; ``Retry-After`` too while the plan is not there."""
blueprint = Blueprint("cut_plans", __name__, url_prefix="/v1/cut-plans")


@blueprint.post("")
@documented(
    "Ask for a cut plan",
    body=JobSchema,
    answers=[
        Answer(200, "The plan, ready within Prefer: wait", "CutPlan", headers=TOLD),
        Answer(202, "Accepted", "CutPlan", headers=(*TOLD, "Retry-After")),
    ],
    problems=[
        "not-json", "malformed-header", "length-required", "too-large", "not-accepted", "unplannable", "key-reused",
        "too-many", "busy",
    ],
    headers=HEEDED,
)  # fmt: skip
def ask() -> Response:
    """Accept a request to plan; wait for the result if the client prefers to."""
    access.spend_turn(store(), service().config)
    return begin(read_body())


def begin(body: Mapping[str, Any]) -> Response:
    """Accept the plan that a body asks for, and answer for it as the client's headers prefer."""
    wait = wait_preferred()
    queue = queues.BATCH if wait is None else queues.COUNTER
    record = accept(Ask(access.client(), queue, read_job(body), idempotency_key(), fingerprint(body)))
    waited = wait_for(record, wait) if wait else record
    response = _told(waited, 200 if waited.state.over else 202)
    response.headers["Location"] = f"/v1/cut-plans/{waited.id}"
    response.headers["Vary"] = "Prefer"
    if wait is not None:
        response.headers["Preference-Applied"] = f"wait={wait}"
    return response


@blueprint.get("/<plan_id>")
@documented(
    "Look at a cut plan",
    answers=[
        Answer(200, "The resource", "CutPlan", headers=("ETag", "Retry-After")),
        Answer(304, "Nothing has changed", headers=("ETag", "Retry-After")),
    ],
    problems=["not-found", "expired"],
    headers=["If-None-Match"],
)
def look(plan_id: str) -> Response:
    """Return the resource as it is now."""
    record = own(plan_id)
    if _etag(record) in request.if_none_match:
        return _with_caching(make_response("", 304), record)
    return _told(record, 200)


@blueprint.delete("/<plan_id>")
@documented(
    "Stop or forget a cut plan",
    answers=[
        Answer(200, "It was waiting and is cancelled", "CutPlan", headers=["ETag"]),
        Answer(202, "It is running and will stop with the best plan found", "CutPlan", headers=["ETag", "Retry-After"]),
        Answer(204, "It was over and is forgotten"),
    ],
    problems=["not-found", "expired"],
)
def stop(plan_id: str) -> Response:
    """Cancel a queued or running plan, forget a finished one."""
    ends = cancel(own(plan_id))
    if ends is not None:
        return _told(own(plan_id), 200 if ends is State.CANCELLED else 202)
    store().forget(plan_id)
    return make_response("", 204)


def cancel(record: Record) -> State | None:
    """End what waits (CANCELLED), or ask what runs to stop with the best plan found (RUNNING); None if it is over."""
    if record.state is State.QUEUED and store().give_up(record, State.CANCELLED):
        queues.dequeue(store().redis, record.queue, record.id, record.generation)
        return State.CANCELLED
    return State.RUNNING if not record.state.over and store().ask_cancel(record.id) else None


@blueprint.get("/<plan_id>/sticks")
@documented(
    "List the sticks of a cut plan",
    answers=[Answer(200, "One page of sticks; Link leads to the next", "Sticks", headers=["Link"])],
    problems=["not-found", "not-ready", "no-plan", "expired"],
    query={"limit": "Sticks on a page", "after": "Sticks before this page; Link has the number for the next"},
)
def sticks(plan_id: str) -> Response:
    """Return the sticks one by one, a page at a time."""
    job, plan = planned(plan_id)
    limit = whole_parameter("limit", 500, 1, 2_000)
    after = whole_parameter("after", 0, 0, 10**9)
    every = [(part.material, use, stick) for part in plan.materials for use, stick in part.sticks()]
    page = [render_stick(job, material, use, stick) for material, use, stick in every[after : after + limit]]
    response = jsonify({"count": len(every), "sticks": page})
    if after + limit < len(every):
        following = f"/v1/cut-plans/{plan_id}/sticks?limit={limit}&after={after + limit}"
        response.headers["Link"] = f'<{following}>; rel="next"'
    return response


def own(plan_id: str) -> Record:
    """Return the caller's own record. Raises ``Problem``: 410 once expired, 404 for any other id."""
    record = store().fetch(plan_id)
    if record is None and store().owner_of_expired(plan_id) == access.client():
        raise Problem("expired", "The result was kept for its time and is gone; post the request again.")
    if record is None or record.client != access.client():
        raise not_found()
    return record


def planned(plan_id: str) -> tuple[Job, CutPlan]:
    """Return the job and its finished plan. Raises ``Problem`` while or where there is none."""
    record = own(plan_id)
    if not record.state.over:
        raise Problem("not-ready", "The plan is still being made.", headers={"Retry-After": ASK_AGAIN})
    job, plan = store().job(plan_id), store().plan(plan_id)
    if job is None or plan is None:
        raise Problem("no-plan", record.failure.detail if record.failure else "It was cancelled before it began.")
    return job, plan


def accept(asked: Ask) -> Record:
    """Keep a plan and queue it. Raises ``Problem`` where too many wait, or its key came with another request."""
    waiting, _ = store().counts()
    if waiting >= service().config.most_waiting:
        raise Problem("busy", f"{waiting} plans are waiting already.", headers={"Retry-After": "10"})
    new_id = secrets.token_hex(16)
    try:
        plan_id = store().create(new_id, asked)
    except KeyReused:
        raise Problem("key-reused", "This Idempotency-Key came with a different request before.") from None
    if plan_id == new_id:
        queues.enqueue(store().redis, asked.queue, plan_id, 1, asked.job.seconds)
    return own(plan_id)


def wait_for(record: Record, seconds: float) -> Record:
    """Look again and again until it is over or the time is; others may be waiting already, then not at all."""
    if not service().waiters.acquire(blocking=False):
        return record
    try:
        until, pause = time.monotonic() + min(seconds, service().config.longest_wait), 0.004
        while not record.state.over and time.monotonic() < until:
            if service().stopping.wait(pause):
                break
            pause = min(0.1, pause * 1.2)
            record = own(record.id)
    finally:
        service().waiters.release()
    return record


def _told(record: Record, status: int) -> Response:
    job = store().job(record.id)
    if job is None:
        raise not_found()
    plan = store().plan(record.id) if record.has_plan else None
    return _with_caching(make_response(jsonify(render(record, job, plan)), status), record)


def _with_caching(response: Response, record: Record) -> Response:
    response.set_etag(_etag(record))
    response.headers["Cache-Control"] = "private, no-cache"
    if not record.state.over:
        response.headers["Retry-After"] = ASK_AGAIN
    return response


def _etag(record: Record) -> str:
    return f"{record.id[:8]}-{record.version}"
