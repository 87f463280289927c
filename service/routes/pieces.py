"""``/v1/cut-plans/{id}/pieces`` and ``/ticks``: what has become of each piece, told by whoever cuts and hangs it.

``/v1/cut-plans/{id}/continuation``: what was cut stays, and the rest is planned from what is left.
"""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from service import plans
from service.continuing import Standing, go_on
from service.http.documented import Answer, Parameter, documented
from service.http.preferences import wait_preferred, whole_parameter
from service.http.strict_json import read_body
from service.routes.cut_plans import TOLD, waited_for
from service.state import store
from service.views.pieces import pieces_of
from service.wire.plans.continuation import ContinuationSchema, read_continuation
from service.wire.plans.cut_plan import CutPlanSchema
from service.wire.plans.ticks import TickedListSchema, TicksSchema, read_ticks, render_ticked
from workers import queues
from workers.orders.ticks import Ticks

_OF_PLANS = ("malformed-query", "not-found", "not-ready", "no-plan", "expired")
_USUAL, _MOST = 2_000, 5_000
"""Pieces on a page."""
blueprint = Blueprint("pieces", __name__, url_prefix="/v1/cut-plans/<plan_id>")
continuations = Blueprint("continuations", __name__, url_prefix="/v1/cut-plans/<plan_id>")


@blueprint.get("/pieces")
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
def pieces(plan_id: str) -> Response:
    """Return the pieces, a page at a time."""
    limit, after = whole_parameter("limit", _USUAL, 1, _MOST), whole_parameter("after", 0, 0, 10**9)
    return _told(plan_id, limit, after)


@blueprint.post("/ticks")
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
    known = {piece.id: piece for piece in pieces_of(job, plan)}
    changes = read_ticks(read_body(), known)
    ticks = plans.tick(plan_id, job, plan, changes)
    ticked = [known[name] for name in dict.fromkeys(change.piece for change in changes)]
    return jsonify(render_ticked(job, ticked, ticks))


def _told(plan_id: str, limit: int, after: int) -> Response:
    job, plan = plans.planned(plan_id)
    page = render_ticked(job, pieces_of(job, plan), Ticks(store().redis).of(plan_id), after, limit)
    response = jsonify(page)
    response.headers["Cache-Control"] = "private, no-cache"
    if after + limit < page["count"]:
        following = f"/v1/cut-plans/{plan_id}/pieces?limit={limit}&after={after + limit}"
        response.headers["Link"] = f'<{following}>; rel="next"'
    response.add_etag()
    return response


@continuations.post("/continuation")
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
