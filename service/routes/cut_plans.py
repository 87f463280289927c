"""``/v1/cut-plans``: ask for a plan, look at it, stop it, forget it.

``/v1/cut-plan-batches``: many requests to plan in one body, each accepted or refused by itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from flask import Blueprint, Response, jsonify, make_response, request

from service import plans, racks
from service.catalogue import filled
from service.finished import finished
from service.following import MEDIA_TYPE, followed
from service.http import access, rates
from service.http.documented import Answer, documented
from service.http.preferences import (
    flag,
    idempotency_key,
    is_known,
    lead_on,
    require_match,
    tell_wait,
    wait_preferred,
    whole_parameter,
)
from service.http.problems import FieldError, Problem, refused
from service.http.strict_json import fingerprint, read_body
from service.http.waiting import Waited, held
from service.state import service
from service.wire import read_job
from service.wire.job import JobSchema, render_request
from service.wire.particulars import read_particulars
from service.wire.plans.cut_plan import CutPlanSchema, PlanEventSchema, SticksPageSchema, render, render_sticks
from service.wire.plans.cut_plan_batch import (
    Accepted,
    CutPlanBatchAnswersSchema,
    CutPlanBatchSchema,
    read_batch,
    render_answers,
)
from service.wire.takeoffs.takeoff import TakeOffSchema
from solver.job import Job
from workers import queues
from workers.callbacks import Barred
from workers.plans.record import Record
from workers.plans.store import Ask

HEEDED = ("Prefer", "Idempotency-Key")
"""Headers of a request to plan."""
TOLD = ("Location", "ETag", "Preference-Applied")
"""Headers of the answer to it; ``Retry-After`` too while the plan is not there."""
blueprint = Blueprint("cut_plans", __name__, url_prefix="/v1/cut-plans")
batches = Blueprint("cut_plan_batches", __name__, url_prefix="/v1/cut-plan-batches")


@blueprint.post("")
@documented(
    "Ask for a cut plan",
    body=JobSchema,
    answers=[
        Answer(
            200,
            "The plan, ready within Prefer: wait; with dry_run=true the request as it is read",
            (CutPlanSchema, JobSchema),
            headers=TOLD,
        ),
        Answer(202, "Accepted", CutPlanSchema, headers=(*TOLD, "Retry-After")),
    ],
    problems=[
        "not-json", "malformed-header", "length-required", "too-large", "not-accepted", "unplannable", "key-reused",
        "busy", "malformed-query",
    ],
    query={"dry_run": "true to have the request read and not planned"},
    headers=HEEDED,
)  # fmt: skip
def ask() -> Response:
    """Accept a request to plan; wait for the result if the client prefers to."""
    is_dry, sent = flag("dry_run"), read_body()
    if is_dry:
        return jsonify(render_request(acceptable(filled(sent))))
    return begin(filled(sent), fingerprint(sent))


def acceptable(body: Mapping[str, Any]) -> Job:
    """Return the job that a body asks for, as it would be planned. Raises ``Problem`` where it would not be."""
    job = read_job(body, racks.with_rack, racks.unavailable_in)
    racks.refuse_unavailable(job)
    _callback(body)
    return plans.with_charges(job)


def begin(
    body: Mapping[str, Any],
    mark: str,
    measured: Mapping[str, Any] | None = None,
    beside: Mapping[str, Any] | None = None,
) -> Response:
    """Accept the plan that a body asks for, as ``accept`` does, and answer for it as the client's headers prefer.

    The answer has ``beside`` after the plan's own members.
    """
    wait = wait_preferred()
    queue = queues.INTERACTIVE if wait else queues.BATCH
    return waited_for(accept(body, mark, queue, idempotency_key(), measured), wait, beside)


def accept(
    body: Mapping[str, Any], mark: str, queue: str, key: str | None, measured: Mapping[str, Any] | None = None
) -> Record:
    """Accept the plan that a body asks for, under an idempotency key if there is one. Raises ``Problem``.

    ``mark`` is the fingerprint of what was sent, by which a retry is known. ``measured`` is the request for a take-off
    that the body was made of, to be kept with the plan.
    """
    job = read_job(body, racks.with_rack, racks.unavailable_in)
    particulars = read_particulars(body.get("particulars") or {})
    asked = Ask(
        client=access.client(),
        queue=queue,
        job=plans.with_charges(job),
        key=key,
        fingerprint=mark,
        measured=measured,
        particulars=particulars,
        by=access.person(),
        callback=_callback(body),
    )
    return plans.accept(asked)


def _callback(body: Mapping[str, Any]) -> str:
    """Return the address to be told at that the plan is over. Raises ``Problem`` where it is none that is called."""
    address = str(body.get("callback", ""))
    try:
        if address:
            service().config.callbacks.require_allowed(address)
    except Barred as barred:
        raise refused([FieldError("#/callback", str(barred), "not_called")]) from None
    return address


def waited_for(record: Record, wait: int | None, beside: Mapping[str, Any] | None = None) -> Response:
    """Answer for a plan that was accepted, once it is over or the client need wait no longer."""

    def answer(waited: Waited[Record]) -> Response:
        response = told(waited.value, 200 if waited.value.state.over else 202, beside)
        response.headers["Location"] = f"/v1/cut-plans/{record.id}"
        tell_wait(response, wait, waited.seconds)
        return response

    return held(plans.end_of(record), wait or 0, answer)


@blueprint.get("/<plan_id>")
@documented(
    "Look at a cut plan",
    answers=[
        Answer(200, "The resource", CutPlanSchema, headers=("ETag", "Retry-After")),
        Answer(304, "Nothing has changed", headers=("ETag", "Retry-After")),
    ],
    problems=["not-found", "expired"],
    headers=["If-None-Match"],
)
def look(plan_id: str) -> Response:
    """Return the resource as it is now."""
    record = plans.own(plan_id)
    if is_known(etag_of(record)):
        return _with_caching(make_response("", 304), record)
    return finished(plan_id, lambda: told(plans.own(plan_id), 200))


@blueprint.get("/<plan_id>/events")
@documented(
    "Follow a cut plan",
    answers=[
        Answer(
            200,
            "Server-sent events: `progress` whenever the plan has changed, `end` once it is over, after which the "
            "stream ends. Each has an id, and as data a PlanEvent. The stream ends after a while in any case; send the "
            "last id as `Last-Event-ID` to go on from there",
            PlanEventSchema,
            media_type=MEDIA_TYPE,
        ),
        Answer(204, "It is over, and the client knows it: there is nothing to come again for"),
    ],
    problems=["not-found", "expired", "too-many", "busy"],
    headers=["Last-Event-ID"],
)
def follow(plan_id: str) -> Response:
    """Tell how the plan stands, and of every change, for as long as answers are held."""
    record, known = plans.own(plan_id), request.headers.get("Last-Event-ID", "")
    if record.state.over and known == etag_of(record):
        return make_response("", 204)
    return followed(record, known, etag_of)


@blueprint.get("/<plan_id>/measured")
@documented(
    "Look at what a plan was measured from",
    answers=[Answer(200, "The request for a take-off as it was sent", TakeOffSchema, as_asked=True)],
    problems=["not-found", "not-measured", "unreadable", "expired"],
)
def measured(plan_id: str) -> Response:
    """Return the measurements, to be changed and taken off again."""
    return jsonify(plans.measured(plan_id))


@blueprint.post("/<plan_id>/cancel")
@documented(
    "Stop a cut plan",
    answers=[
        Answer(200, "It is over: cancelled before it began, or it had ended already", CutPlanSchema, headers=["ETag"]),
        Answer(
            202, "It is running and will stop with the best plan found", CutPlanSchema, headers=["ETag", "Retry-After"]
        ),
    ],
    problems=["not-found", "expired", "changed"],
    headers=["If-Match"],
)
def cancel(plan_id: str) -> Response:
    """Stop a queued or running plan; once it is over nothing happens, however often this is asked."""
    record = plans.own(plan_id)
    require_match(etag_of(record))
    after = plans.cancel(record)
    return told(after, 200 if after.state.over else 202)


@blueprint.delete("/<plan_id>")
@documented(
    "Forget a cut plan",
    answers=[Answer(204, "It was over and is forgotten")],
    problems=["not-found", "expired", "not-over", "changed"],
    headers=["If-Match"],
)
def forget(plan_id: str) -> Response:
    """Forget a finished plan; one that is not over is to be cancelled first."""
    record = plans.own(plan_id)
    if record.state.over:
        require_match(etag_of(record))
    plans.forget(record)
    return make_response("", 204)


@blueprint.get("/<plan_id>/sticks")
@documented(
    "List the sticks of a cut plan",
    answers=[Answer(200, "One page of sticks; Link leads to the next", SticksPageSchema, headers=["Link"])],
    problems=["not-found", "not-ready", "no-plan", "expired"],
    query={"limit": "Sticks on a page", "after": "Sticks before this page; Link has the number for the next"},
)
def sticks(plan_id: str) -> Response:
    """Return the sticks one by one, a page at a time."""
    return finished(plan_id, partial(_sticks, plan_id))


def _sticks(plan_id: str) -> Response:
    job, plan = plans.planned(plan_id)
    limit = whole_parameter("limit", 500, 1, 2_000)
    after = whole_parameter("after", 0, 0, 10**9)
    page = render_sticks(job, plan, after, limit)
    response = jsonify(page)
    if after + limit < page["count"]:
        lead_on(response, limit=limit, after=after + limit)
    return response


def told(record: Record, status: int, beside: Mapping[str, Any] | None = None) -> Response:
    """Answer with a plan as it is, and what is to be said beside it."""
    kept = plans.kept(record)
    answer = {**render(kept.record, kept.job, kept.plan), **(beside or {})}
    return _with_caching(make_response(jsonify(answer), status), kept.record)


def _with_caching(response: Response, record: Record) -> Response:
    response.set_etag(etag_of(record))
    response.headers["Cache-Control"] = "private, no-cache"
    if not record.state.over:
        response.headers["Retry-After"] = plans.ASK_AGAIN
    return response


def etag_of(record: Record) -> str:
    """Return the entity tag of a plan as it is."""
    return f"{record.id[:8]}-{record.version}"


@batches.post("", endpoint="ask")
@documented(
    "Ask for many cut plans",
    body=CutPlanBatchSchema,
    answers=[Answer(200, "One answer for each request, in their order", CutPlanBatchAnswersSchema)],
    problems=["not-json", "malformed-header", "length-required", "too-large", "not-accepted", "unplannable"],
    headers=["Idempotency-Key"],
)
def ask_for_many() -> Response:
    """Accept each request that can be planned, and say of each other why it can't.

    Sent again under its key, each request that was accepted leads to the same plan by its place in the batch; one that
    was refused may be another by then. Each counts against the limit of requests to plan.
    """
    requests, key = read_batch(read_body()), idempotency_key()
    rates.count_more(len(requests) - 1)
    # no client's own key has a space in it
    keys = [f"{key} {place}" if key else None for place in range(len(requests))]
    return jsonify(render_answers([_accepted(*each) for each in zip(requests, keys, strict=True)]))


def _accepted(request: Mapping[str, Any], key: str | None) -> Accepted:
    try:
        return Accepted(accept(filled(request), fingerprint(request), queues.BATCH, key))
    except Problem as problem:
        return Accepted(refusal=problem)
