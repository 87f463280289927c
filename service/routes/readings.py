"""What is written or measured, read into items; nothing is kept.

``/v1/cut-lists``: pasted text in, lines read and reasons out; nothing is solved.
``/v1/takeoffs``: measured walls and ceilings in, items for a cut plan out, planned at once if that is asked for.
"""

from __future__ import annotations

from functools import partial

from flask import Blueprint, Response, jsonify

from service.catalogue import filled
from service.customers import answers_of
from service.finished import apart_if_long
from service.http.documented import Answer, documented
from service.http.preferences import flag
from service.http.strict_json import fingerprint, plain, read_body
from service.routes import cut_plans
from service.wire.cut_list import CutListRequestSchema, CutListSchema, read_pasted, render_cut_list
from service.wire.takeoffs.taken_off import PlannedTakeOffSchema, TakeOffAnswerSchema, render_take_off
from service.wire.takeoffs.takeoff import TakeOffSchema, read_take_off

of_lists = Blueprint("cut_lists", __name__, url_prefix="/v1/cut-lists")
of_houses = Blueprint("takeoffs", __name__, url_prefix="/v1/takeoffs")


@of_lists.post("")
@documented(
    "Read a pasted list",
    body=CutListRequestSchema,
    answers=[Answer(200, "Every line, what must be asked, and the items read", CutListSchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable"],
)
def read() -> Response:
    """Return what the list says, line by line."""
    return apart_if_long(lambda: jsonify(render_cut_list(read_pasted(read_body(), answers_of))))


@of_houses.post("")
@documented(
    "Take off a house",
    body=TakeOffSchema,
    answers=[
        Answer(
            200,
            "The take-off, or with plan=true and Prefer: wait the plan made of it",
            (TakeOffAnswerSchema, PlannedTakeOffSchema),
            headers=cut_plans.TOLD,
        ),
        Answer(
            202,
            "With plan=true: the plan is accepted; the take-off is beside it",
            PlannedTakeOffSchema,
            headers=(*cut_plans.TOLD, "Retry-After"),
        ),
    ],
    query={
        "plan": "true to plan it too",
        "dry_run": "true to have it read, with plan=true all that a plan of it needs, and nothing planned",
    },
    headers=cut_plans.HEEDED,
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable", "busy"],
)
def take() -> Response:
    """Answer a request for a cut plan with what the take-off says beside it; with ``?plan=true`` plan it too."""
    planned, is_dry = flag("plan"), flag("dry_run")
    taken = partial(_taken, planned=planned, is_dry=is_dry)
    # who waits for a plan has a seat in the server
    return taken() if planned else apart_if_long(taken)


def _taken(*, planned: bool, is_dry: bool) -> Response:
    sent = read_body()
    body = filled(sent)
    answer = render_take_off(read_take_off(body), body)
    if planned and is_dry:
        cut_plans.acceptable(answer)
    if not planned or is_dry:
        return jsonify(answer)
    return cut_plans.begin(answer, fingerprint(sent), plain(body), beside={"takeoff": answer["takeoff"]})
