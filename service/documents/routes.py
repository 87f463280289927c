"""``/v1/cut-plans/{id}/…``: the documents of a finished plan."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint, Response, make_response, request

from service.documented import Answer, documented
from service.documents.blocks import Paper, Sheet
from service.documents.html import html, policy
from service.documents.order_csv import order_csv
from service.documents.pages import sheet_of
from service.documents.title_block import TitleBlock
from service.drawing.cut_drawing import draw_plan
from service.drawing.lap_map import draw_wall
from service.drawing.layout import layouts_of
from service.drawing.shapes import Drawing
from service.drawing.svg import svg
from service.plans import own, planned
from service.problems import FieldError, Problem
from solver.job import Job
from solver.plan import CutPlan

_LONGEST = 120
"""Characters in one entry of the title block."""
_NOTHING_IN = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
_PROBLEMS = ("malformed-query", "not-found", "not-ready", "no-plan", "expired")
_BLOCK = {
    "job": "Job, instead of the request's name",
    "customer": "Customer",
    "po": "Purchase order number",
    "date": "Date",
    "taken_by": "Taken by",
}
_SHEET = {**_BLOCK, "paper": "letter or a4; without it, what goes with the units"}
def _answers(what: str, media_type: str) -> list[Answer]:
    return [
        Answer(200, what, media_type=media_type, headers=["ETag"]),
        Answer(304, "Nothing has changed", headers=["ETag"]),
    ]


blueprint = Blueprint("documents", __name__, url_prefix="/v1/cut-plans/<plan_id>")


@blueprint.get("/order.csv")
@documented(
    "The order as CSV",
    answers=_answers("RFC 4180, UTF-8", "text/csv"),
    problems=_PROBLEMS,
    query=_BLOCK,
    headers=["If-None-Match"],
)
def order(plan_id: str) -> Response:
    """Return what to order, a line for each stock length."""
    job, plan = planned(plan_id)
    text = order_csv(job, plan, _title_block(job))
    response = _document(text.encode(), "text/csv; charset=utf-8; header=present")
    response.headers["Content-Disposition"] = "attachment; filename=order.csv"
    return response


@blueprint.get("/cut-sheet.html")
@documented(
    "The cut sheet, to print",
    answers=_answers("HTML", "text/html"),
    problems=_PROBLEMS,
    query=_SHEET,
    headers=["If-None-Match"],
)
def sheet_page(plan_id: str) -> Response:
    """Return the sheet as one page that a browser prints on the paper asked for."""
    sheet = _sheet(plan_id)
    return _document(html(sheet).encode(), "text/html; charset=utf-8", policy(sheet.paper))


@blueprint.get("/cut-sheet.pdf")
@documented(
    "The cut sheet",
    answers=_answers("PDF", "application/pdf"),
    problems=_PROBLEMS,
    query=_SHEET,
    headers=["If-None-Match"],
)
def sheet_file(plan_id: str) -> Response:
    """Return the same sheet as PDF."""
    from service.documents.pdf import pdf  # noqa: PLC0415 - fpdf2 takes long to import, and few requests want a PDF

    response = _document(pdf(_sheet(plan_id)), "application/pdf")
    response.headers["Content-Disposition"] = "inline; filename=cut-sheet.pdf"
    return response


@blueprint.get("/drawing.svg")
@documented(
    "The drawing",
    answers=_answers("SVG", "image/svg+xml"),
    problems=_PROBLEMS,
    query={"wall": "The wall whose lap map is wanted, instead of the cuts of the whole plan"},
    headers=["If-None-Match"],
)
def drawing(plan_id: str) -> Response:
    """Return the cut drawing of the whole plan, or the lap map of the wall asked for."""
    job, plan = planned(plan_id)
    wall = request.args.get("wall")
    drawn = draw_plan(job, plan) if wall is None else _wall(job, plan, wall)
    return _document(svg(drawn).encode(), "image/svg+xml; charset=utf-8", _NOTHING_IN)


def _wall(job: Job, plan: CutPlan, wall: str) -> Drawing:
    layout = next((layout for layout in layouts_of(job, plan) if layout.id == wall), None)
    if layout is None:
        raise Problem("not-found", "No piece of this plan hangs on the wall asked for.")
    return draw_wall(layout, job.units, plan.warnings)


def _sheet(plan_id: str) -> Sheet:
    job, plan = planned(plan_id)
    made = own(plan_id).finished_at or datetime.fromtimestamp(0, UTC)
    return sheet_of(job, plan, _title_block(job), made, _paper(job))


def _title_block(job: Job) -> TitleBlock:
    entries = {name: _entry(name) for name in ("customer", "po", "date", "taken_by")}
    return TitleBlock(_entry("job") or job.name, **entries)


def _entry(name: str) -> str:
    given = request.args.get(name, "")
    if len(given) > _LONGEST:
        raise _unreadable(f"{name} in the query string must have {_LONGEST} characters at most")
    return given


def _paper(job: Job) -> Paper:
    """Return the paper asked for; without a wish, A4 where lengths are metric."""
    given = request.args.get("paper", Paper.A4 if job.units.metric else Paper.LETTER)
    if given not in [*Paper]:
        raise _unreadable(f"paper in the query string must be one of: {', '.join(Paper)}")
    return Paper(given)


def _unreadable(detail: str) -> Problem:
    return Problem("malformed-query", "The query string can't be read.", [FieldError("#", detail)])


def _document(content: bytes, content_type: str, security: str = "") -> Response:
    response = make_response(content)
    response.headers["Content-Type"] = content_type
    if security:
        response.headers["Content-Security-Policy"] = security
    response.headers["Cache-Control"] = "private, no-cache"
    response.add_etag()
    response.make_conditional(request)
    return response
