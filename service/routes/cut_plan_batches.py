"""``/v1/cut-plan-batches``: many requests to plan in one body, each accepted or refused by itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, Response, jsonify

from service.catalogue import filled
from service.http import rates
from service.http.documented import Answer, documented
from service.http.preferences import idempotency_key
from service.http.problems import Problem
from service.http.strict_json import fingerprint, read_body
from service.routes.cut_plans import accept
from service.wire.plans.cut_plan_batch import (
    Accepted,
    CutPlanBatchAnswersSchema,
    CutPlanBatchSchema,
    read_batch,
    render_answers,
)
from workers import queues

blueprint = Blueprint("cut_plan_batches", __name__, url_prefix="/v1/cut-plan-batches")


@blueprint.post("")
@documented(
    "Ask for many cut plans",
    body=CutPlanBatchSchema,
    answers=[Answer(200, "One answer for each request, in their order", CutPlanBatchAnswersSchema)],
    problems=["not-json", "malformed-header", "length-required", "too-large", "not-accepted", "unplannable"],
    headers=["Idempotency-Key"],
)
def ask() -> Response:
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
