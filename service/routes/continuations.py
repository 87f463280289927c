"""``/v1/cut-plans/{id}/continuation``: what was cut stays, and the rest is planned from what is left."""

from __future__ import annotations

from flask import Blueprint, Response

from service.continuing import Standing, go_on
from service.http.documented import Answer, documented
from service.http.preferences import wait_preferred
from service.http.strict_json import read_body
from service.routes.cut_plans import TOLD, waited_for
from service.wire.plans.continuation import ContinuationSchema, read_continuation
from service.wire.plans.cut_plan import CutPlanSchema
from workers import queues

blueprint = Blueprint("continuations", __name__, url_prefix="/v1/cut-plans/<plan_id>")


@blueprint.post("/continuation")
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
