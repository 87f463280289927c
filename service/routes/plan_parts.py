"""What hangs on a plan, below ``/v1/cut-plans/{id}``.

``/pieces`` and ``/ticks``: what has become of each piece, told by whoever cuts and hangs it.
``/continuation``: what was cut stays, and the rest is planned from what is left.
``/alternatives``: the same list planned other ways, beside each other.
"""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response

from service import alternatives, plans
from service.continuing import Standing, go_on
from service.finished import apart_if_large
from service.http.documented import Answer, Parameter, documented
from service.http.preferences import lead_on, wait_preferred, whole_parameter
from service.http.strict_json import read_body
from service.routes.cut_plans import TOLD, waited_for
from service.state import store
from service.views.pieces import pieces_of
from service.wire.plans.alternatives import AlternativesSchema, render_alternatives
from service.wire.plans.cut_plan import CutPlanSchema
from service.wire.plans.ticks import (
    ContinuationSchema,
    TickedListSchema,
    TicksSchema,
    read_continuation,
    read_ticks,
    render_ticked,
)
from solver.job import Job
from solver.plan import CutPlan
from workers import queues
from workers.orders.ticks import Ticks
from workers.plans.record import Record

_OF_PLANS = ("malformed-query", "not-found", "not-ready", "no-plan", "expired")
_NOT_YET = Answer(202, "Some of them are still being made", AlternativesSchema, headers=["Retry-After"])
_USUAL, _MOST = 2_000, 5_000
"""Pieces on a page."""
of_pieces = Blueprint("pieces", __name__, url_prefix="/v1/cut-plans/<plan_id>")
of_alternatives = Blueprint("alternatives", __name__, url_prefix="/v1/cut-plans/<plan_id>")
of_rest = Blueprint("continuations", __name__, url_prefix="/v1/cut-plans/<plan_id>")


@of_pieces.get("/pieces")
@documented(
    "List the pieces of a cut plan",
    answers=[
        Answer(
            200, "One page of pieces, and how far each is; Link leads to the next", TickedListSchema,
            headers=["Link", "ETag"],
        ),
        Answer(304, "Nothing has changed", headers=["ETag"]),
    ],
    problems=_OF_PLANS,
    query={"limit": Parameter("Pieces on a page",
                              {"type": "integer", "minimum": 1, "maximum": _MOST, "default": _USUAL}),
           "after": "Pieces before this page; Link has the number for the next"},
    headers=["If-None-Match"],
)  # fmt: skip
@apart_if_large
def pieces(plan_id: str) -> Response:
    """Return the pieces, a page at a time."""
    limit, after = whole_parameter("limit", _USUAL, 1, _MOST), whole_parameter("after", 0, 0, 10**9)
    return _told(plan_id, limit, after)


@of_pieces.post("/ticks")
@documented(
    "Tick pieces of a cut plan",
    body=TicksSchema,
    answers=[Answer(200, "Every piece ticked as it is now, changed or not, by whoever was first", TickedListSchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "not-ready",
              "no-plan", "expired"],
)  # fmt: skip
def tick(plan_id: str) -> Response:
    """Keep what became of pieces, each only if it is still what it was taken to be; sent again it does no harm."""
    job, plan = plans.planned(plan_id)
    pieces = pieces_of(job, plan)
    changes = read_ticks(read_body(), pieces)
    ticks = plans.tick(plan_id, job, plan, changes)
    places = map(pieces.place, dict.fromkeys(change.piece for change in changes))
    return jsonify(render_ticked(job, [pieces[place] for place in places if place is not None], ticks))


def _told(plan_id: str, limit: int, after: int) -> Response:
    job, plan = plans.planned(plan_id)
    pieces = pieces_of(job, plan)
    page = pieces[after : after + limit]
    ticks = Ticks(store().redis).of(plan_id, [piece.id for piece in page])
    response = jsonify(render_ticked(job, page, ticks, len(pieces), after))
    response.headers["Cache-Control"] = "private, no-cache"
    if after + limit < len(pieces):
        lead_on(response, limit=limit, after=after + limit)
    response.add_etag()
    return response


@of_rest.post("/continuation")
@documented(
    "Go on with a cut plan from what is left",
    body=ContinuationSchema,
    answers=[
        Answer(200, "The plan of the rest, ready within Prefer: wait", CutPlanSchema, headers=TOLD),
        Answer(202, "Accepted", CutPlanSchema, headers=(*TOLD, "Retry-After")),
    ],
    problems=[
        "not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "not-ready", "no-plan",
        "expired", "continued", "nothing-left", "busy",
    ],
    headers=["Prefer"],
)  # fmt: skip
def go(plan_id: str) -> Response:
    """Plan what is not cut yet, from what is at hand and what must still be bought."""
    standing = Standing.of(plan_id)
    told, wait = read_continuation(read_body(), standing.job.units), wait_preferred()
    return waited_for(go_on(standing, told, queues.INTERACTIVE if wait else queues.BATCH), wait)


@of_alternatives.post("/alternatives")
@documented(
    "Ask for the alternatives of a cut plan",
    answers=[Answer(200, "All of them are over, or there is none", AlternativesSchema), _NOT_YET],
    problems=["not-found", "not-ready", "no-plan", "expired", "busy"],
)
def ask(plan_id: str) -> Response:
    """Plan the list of a finished plan with one thing changed, for each change that may make another plan of it.

    Each is a plan of its own and holds nothing; asked again they are the same plans. Those of a plan that may use the
    rack leave it alone.
    """
    record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
    alternatives.ask(record, job, plan, queues.BATCH)
    return _compared(record, job, plan)


@of_alternatives.get("/alternatives")
@documented(
    "Compare the alternatives of a cut plan",
    answers=[Answer(200, "The plan and those of its alternatives that were asked for", AlternativesSchema), _NOT_YET],
    problems=["not-found", "not-ready", "no-plan", "expired"],
)
@apart_if_large
def look(plan_id: str) -> Response:
    """Return the plan and its alternatives, each with what it comes to."""
    return _compared(plans.own(plan_id), *plans.planned(plan_id))


def _compared(record: Record, job: Job, plan: CutPlan) -> Response:
    rows = alternatives.asked_of(record, job, plan)
    over = all(row.record.state.over for row in rows)
    response = make_response(jsonify(render_alternatives(job.units, rows)), 200 if over else 202)
    if not over:
        response.headers["Retry-After"] = plans.ASK_AGAIN
    return response
