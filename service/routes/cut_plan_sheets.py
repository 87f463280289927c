"""``/v1/cut-plans/{id}/…``: the documents of a finished plan."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint, Response, request

from service.documented import documented
from service.documents.blocks import Sheet, TitleBlock
from service.documents.cut_sheet import sheet_of
from service.documents.order_csv import order_csv
from service.documents.sheets import PAPER, Form, answers_of, document, paper_asked, serve_sheet
from service.drawing.lap_map import draw_wall
from service.drawing.layout import layouts_of
from service.drawing.pattern import draw_plan
from service.drawing.shapes import Drawing
from service.drawing.svg import svg
from service.plans import own, planned
from service.problems import Problem
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
blueprint = Blueprint("documents", __name__, url_prefix="/v1/cut-plans/<plan_id>")


@blueprint.get("/order.csv")
@documented(
    "The order as CSV",
    answers=answers_of("RFC 4180, UTF-8", "text/csv"),
    problems=_PROBLEMS,
    query=_BLOCK,
    headers=["If-None-Match"],
)
def order(plan_id: str) -> Response:
    """Return what to order, a line for each stock length."""
    job, plan = planned(plan_id)
    text = order_csv(job, plan, _title_block(job))
    return document(
        text.encode(), "text/csv; charset=utf-8; header=present", disposition="attachment; filename=order.csv"
    )


def cut_sheet(plan_id: str) -> Sheet:
    """Return the order, the cutting and the hanging of a plan."""
    job, plan = planned(plan_id)
    made = own(plan_id).finished_at or datetime.fromtimestamp(0, UTC)
    return sheet_of(job, plan, _title_block(job), made, paper_asked(job.units))


serve_sheet(
    blueprint,
    "/cut-sheet",
    cut_sheet,
    page=Form("sheet_page", "The cut sheet, to print"),
    file=Form("sheet_file", "The cut sheet"),
    name="cut-sheet",
    problems=_PROBLEMS,
    query=_BLOCK | PAPER,
)


@blueprint.get("/drawing.svg")
@documented(
    "The drawing",
    answers=answers_of("SVG", "image/svg+xml"),
    problems=_PROBLEMS,
    query={"wall": "The wall whose lap map is wanted, instead of the cuts of the whole plan"},
    headers=["If-None-Match"],
)
def drawing(plan_id: str) -> Response:
    """Return the cut drawing of the whole plan, or the lap map of the wall asked for."""
    job, plan = planned(plan_id)
    wall = request.args.get("wall")
    drawn = draw_plan(job, plan) if wall is None else _wall(job, plan, wall)
    return document(svg(drawn).encode(), "image/svg+xml; charset=utf-8", security=_NOTHING_IN)


def _wall(job: Job, plan: CutPlan, wall: str) -> Drawing:
    layout = next((layout for layout in layouts_of(job, plan) if layout.id == wall), None)
    if layout is None:
        raise Problem("not-found", "No piece of this plan hangs on the wall asked for.")
    return draw_wall(layout, job.units, plan.warnings)


def _title_block(job: Job) -> TitleBlock:
    entries = {name: _entry(name) for name in ("customer", "po", "date", "taken_by")}
    return TitleBlock(_entry("job") or job.name, **entries)


def _entry(name: str) -> str:
    given = request.args.get(name, "")
    if len(given) > _LONGEST:
        raise Problem("malformed-query", f"{name} must have {_LONGEST} characters at most.")
    return given
