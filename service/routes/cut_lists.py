"""``/v1/cut-lists``: pasted text in, lines read and reasons out; nothing is solved or kept."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from service.customers import answers_of
from service.http.documented import Answer, documented
from service.http.strict_json import read_body
from service.wire.cut_list import CutListRequestSchema, CutListSchema, read_pasted, render_cut_list

blueprint = Blueprint("cut_lists", __name__, url_prefix="/v1/cut-lists")


@blueprint.post("")
@documented(
    "Read a pasted list",
    body=CutListRequestSchema,
    answers=[Answer(200, "Every line, what must be asked, and the items read", CutListSchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable"],
)
def read() -> Response:
    """Return what the list says, line by line."""
    return jsonify(render_cut_list(read_pasted(read_body(), answers_of)))
