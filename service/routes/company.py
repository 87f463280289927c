"""``/v1/company``: the caller's own settings, for orders and sheets."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from service import letterhead
from service.http.documented import Answer, documented
from service.http.strict_json import read_body
from service.wire.particulars import CompanySchema, read_company, render_company

blueprint = Blueprint("company", __name__, url_prefix="/v1/company")


@blueprint.get("")
@documented("Look at the company's settings", answers=[Answer(200, "The settings", CompanySchema)])
def look() -> Response:
    """Return the settings, those that nobody has put as they are without."""
    return _told()


@blueprint.put("")
@documented(
    "Put the company's settings",
    body=CompanySchema,
    answers=[Answer(200, "They are kept", CompanySchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable"],
)
def put() -> Response:
    """Keep the settings, in place of all those before."""
    letterhead.put(read_company(read_body()))
    return _told()


def _told() -> Response:
    response = jsonify(render_company(letterhead.company()))
    response.headers["Cache-Control"] = "private, no-cache"
    return response
