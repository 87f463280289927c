"""``/v1/crews/{crew}/weeks/{week}/…``: the morning sheets, the orders and the page of a planned week."""

from __future__ import annotations

from flask import Blueprint

from service.documents.blocks import Sheet
from service.documents.sheets import Form, paper_asked, serve_sheet
from service.documents.week_sheets import morning_sheet, order_sheet, week_sheet
from service.problems import not_found
from service.routes.week_keys import day_of, planned_week, week_key
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week

_PROBLEMS = ("malformed-query", "not-found", "not-ready", "unreadable")
blueprint = Blueprint("week_sheets", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")


def whole_week(crew: str, week: str) -> Sheet:
    """Return jobs by day, rack, orders, comparison and the flow of sticks."""
    asked, plan = _planned(crew, week)
    return week_sheet(asked, plan, paper_asked(asked.units))


def morning(crew: str, week: str, day: str) -> Sheet:
    """Return what to load, to bring, to cut and to keep on a day."""
    (asked, plan), on = _planned(crew, week), day_of(day)
    found = next((one for one in plan.days if one.date == on), None)
    if found is None:
        raise not_found(f"The plan has nothing to cut on {on.isoformat()}.")
    return morning_sheet(asked, found, paper_asked(asked.units))


def order(crew: str, week: str, day: str) -> Sheet:
    """Return what one delivery brings."""
    (asked, plan), on = _planned(crew, week), day_of(day)
    # where something has come already, what is still to come is the last
    found = next((one for one in reversed(plan.orders) if one.date == on), None)
    if found is None:
        raise not_found(f"The plan orders nothing for {on.isoformat()}.")
    return order_sheet(asked, found, paper_asked(asked.units))


def _planned(crew: str, week: str) -> tuple[Week, WeekPlan]:
    kept = planned_week(week_key(crew, week))
    assert kept.plan is not None
    return kept.week, kept.plan


serve_sheet(
    blueprint,
    "/page",
    whole_week,
    page=Form("page", "The week on one page"),
    file=Form("page_file", "The week on paper"),
    name="week",
    problems=_PROBLEMS,
)
serve_sheet(
    blueprint,
    "/days/<day>/sheet",
    morning,
    page=Form("morning", "A morning's sheet, to print"),
    file=Form("morning_file", "A morning's sheet"),
    name="morning",
    problems=_PROBLEMS,
)
serve_sheet(
    blueprint,
    "/deliveries/<day>/order",
    order,
    page=Form("order", "The order for a delivery, to print"),
    file=Form("order_file", "The order for a delivery"),
    name="order",
    problems=_PROBLEMS,
)
