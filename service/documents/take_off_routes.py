"""``/v1/takeoffs/sheet.html|pdf``: the take-off of what was measured, to print; nothing is kept."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint, Response, make_response, request

from service import access
from service.documented import Answer, documented
from service.documents.blocks import Paper, Sheet
from service.documents.html import html, policy
from service.documents.take_off_pages import take_off_sheet
from service.problems import Problem
from service.state import service, store
from service.strict_json import read_body
from service.wire.takeoff import TakeOffSchema, read_take_off

blueprint = Blueprint("take_off_sheets", __name__, url_prefix="/v1/takeoffs")
_PAPER = {"paper": "letter or a4; without it, what goes with the units"}
_PROBLEMS = ("not-json", "malformed-query", "length-required", "too-large", "not-accepted", "unplannable", "too-many")


@blueprint.post("/sheet.html")
@documented(
    "A take-off, to print",
    body=TakeOffSchema,
    answers=[Answer(200, "HTML", media_type="text/html")],
    problems=_PROBLEMS,
    query=_PAPER,
)
def page() -> Response:
    """Return the sheet as one page that a browser prints on the paper asked for."""
    sheet = _sheet()
    response = _document(html(sheet).encode(), "text/html; charset=utf-8")
    response.headers["Content-Security-Policy"] = policy(sheet.paper)
    return response


@blueprint.post("/sheet.pdf")
@documented(
    "A take-off on paper",
    body=TakeOffSchema,
    answers=[Answer(200, "PDF", media_type="application/pdf")],
    problems=_PROBLEMS,
    query=_PAPER,
)
def file() -> Response:
    """Return the same sheet as PDF."""
    from service.documents.pdf import pdf  # noqa: PLC0415 - fpdf2 takes long to import, and few requests want a PDF

    response = _document(pdf(_sheet()), "application/pdf")
    response.headers["Content-Disposition"] = "inline; filename=take-off.pdf"
    return response


def _sheet() -> Sheet:
    access.spend_turn(store(), service().config, "take-offs")
    found = read_take_off(read_body())
    given = request.args.get("paper", Paper.A4 if found.house.unit.metric else Paper.LETTER)
    if given not in [*Paper]:
        raise Problem("malformed-query", f"paper is one of: {', '.join(Paper)}.")
    return take_off_sheet(found, datetime.now(UTC), Paper(given))


def _document(content: bytes, content_type: str) -> Response:
    response = make_response(content)
    response.headers["Content-Type"] = content_type
    response.headers["Cache-Control"] = "no-store"
    return response
