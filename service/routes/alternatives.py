"""``/v1/cut-plans/{id}/alternatives``: the same list planned other ways, beside each other."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response

from service import alternatives, plans
from service.http.documented import Answer, documented
from service.wire.plans.alternatives import AlternativesSchema, render_alternatives
from solver.job import Job
from solver.plan import CutPlan
from workers import queues
from workers.plans.record import Record

_NOT_YET = Answer(202, "Some of them are still being made", AlternativesSchema, headers=["Retry-After"])
blueprint = Blueprint("alternatives", __name__, url_prefix="/v1/cut-plans/<plan_id>")


@blueprint.post("/alternatives")
@documented(
    "Ask for the alternatives of a cut plan",
    answers=[Answer(200, "All of them are over, or there is none", AlternativesSchema), _NOT_YET],
    problems=["not-found", "not-ready", "no-plan", "expired", "busy"],
)
def ask(plan_id: str) -> Response:
    """Plan the list of a finished plan with one thing changed, for each change that may make another plan of it.

    Each is a plan of its own and holds nothing; asked again they are the same plans. A plan that may use the rack has
    none.
    """
    record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
    alternatives.ask(record, job, plan, queues.BATCH)
    return _told(record, job, plan)


@blueprint.get("/alternatives")
@documented(
    "Compare the alternatives of a cut plan",
    answers=[Answer(200, "The plan and those of its alternatives that were asked for", AlternativesSchema), _NOT_YET],
    problems=["not-found", "not-ready", "no-plan", "expired"],
)
def look(plan_id: str) -> Response:
    """Return the plan and its alternatives, each with what it comes to."""
    return _told(plans.own(plan_id), *plans.planned(plan_id))


def _told(record: Record, job: Job, plan: CutPlan) -> Response:
    rows = alternatives.asked_of(record, job, plan)
    over = all(row.record.state.over for row in rows)
    response = make_response(jsonify(render_alternatives(job.units, rows)), 200 if over else 202)
    if not over:
        response.headers["Retry-After"] = plans.ASK_AGAIN
    return response
