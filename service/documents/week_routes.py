"""``/v1/crews/{crew}/weeks/{week}/…``: the morning sheets, the orders and the page of a planned week."""

from __future__ import annotations

from flask import Blueprint, Response, make_response, request

from service.documented import Answer, documented
from service.documents.blocks import Paper, Sheet
from service.documents.html import html, policy
from service.documents.morning_sheet import morning_sheet
from service.documents.week_sheets import order_sheet, week_sheet
from service.problems import Problem, not_found
from service.week_keys import day_of, week_key
from service.weeks import planned_week
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week

_PAPER = {"paper": "letter or a4; without it, what goes with the units"}
_PROBLEMS = ("malformed-query", "not-found", "not-ready")
_HTML = [Answer(200, "HTML", media_type="text/html")]
_PDF = [Answer(200, "PDF", media_type="application/pdf")]
blueprint = Blueprint("week_sheets", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")


@blueprint.get("/page.html")
@documented("The week on one page", answers=_HTML, problems=_PROBLEMS, query=_PAPER)
def page(crew: str, week: str) -> Response:
    """Return jobs by day, rack, orders, comparison and the flow of sticks as a page."""
    return _as_html(_week(crew, week))


@blueprint.get("/page.pdf")
@documented("The week on paper", answers=_PDF, problems=_PROBLEMS, query=_PAPER)
def page_file(crew: str, week: str) -> Response:
    """Return the same page as PDF."""
    return _as_pdf(_week(crew, week), "week.pdf")


@blueprint.get("/days/<day>/sheet.html")
@documented("A morning's sheet, to print", answers=_HTML, problems=_PROBLEMS, query=_PAPER)
def morning(crew: str, week: str, day: str) -> Response:
    """Return what to load, to bring, to cut and to keep on a day."""
    return _as_html(_morning(crew, week, day))


@blueprint.get("/days/<day>/sheet.pdf")
@documented("A morning's sheet", answers=_PDF, problems=_PROBLEMS, query=_PAPER)
def morning_file(crew: str, week: str, day: str) -> Response:
    """Return the same sheet as PDF."""
    return _as_pdf(_morning(crew, week, day), "morning.pdf")


@blueprint.get("/deliveries/<day>/order.html")
@documented("The order for a delivery, to print", answers=_HTML, problems=_PROBLEMS, query=_PAPER)
def order(crew: str, week: str, day: str) -> Response:
    """Return what one delivery brings."""
    return _as_html(_order(crew, week, day))


@blueprint.get("/deliveries/<day>/order.pdf")
@documented("The order for a delivery", answers=_PDF, problems=_PROBLEMS, query=_PAPER)
def order_file(crew: str, week: str, day: str) -> Response:
    """Return the same order as PDF."""
    return _as_pdf(_order(crew, week, day), "order.pdf")


def _planned(crew: str, week: str) -> tuple[Week, WeekPlan]:
    kept = planned_week(week_key(crew, week))
    assert kept.plan is not None
    return kept.week, kept.plan


def _week(crew: str, week: str) -> Sheet:
    asked, plan = _planned(crew, week)
    return week_sheet(asked, plan, _paper(asked))


def _morning(crew: str, week: str, day: str) -> Sheet:
    (asked, plan), on = _planned(crew, week), day_of(day)
    found = next((one for one in plan.days if one.date == on), None)
    if found is None:
        raise not_found(f"The plan has nothing to cut on {on.isoformat()}.")
    return morning_sheet(asked, found, _paper(asked))


def _order(crew: str, week: str, day: str) -> Sheet:
    (asked, plan), on = _planned(crew, week), day_of(day)
    # where something has come already, what is still to come is the last
    found = next((one for one in reversed(plan.orders) if one.date == on), None)
    if found is None:
        raise not_found(f"The plan orders nothing for {on.isoformat()}.")
    return order_sheet(asked, found, _paper(asked))


def _paper(week: Week) -> Paper:
    given = request.args.get("paper", Paper.A4 if week.units.metric else Paper.LETTER)
    if given not in [*Paper]:
        raise Problem("malformed-query", f"paper is one of: {', '.join(Paper)}.")
    return Paper(given)


def _as_html(sheet: Sheet) -> Response:
    response = make_response(html(sheet))
    response.headers["Content-Security-Policy"] = policy(sheet.paper)
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _as_pdf(sheet: Sheet, name: str) -> Response:
    from service.documents.pdf import pdf  # noqa: PLC0415 - fpdf2 takes long to import, and few requests want a PDF

    response = make_response(pdf(sheet))
    response.headers["Content-Type"] = "application/pdf"
    response.headers["Content-Disposition"] = f"inline; filename={name}"
    response.headers["Cache-Control"] = "private, no-cache"
    return response
