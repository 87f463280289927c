"""The documents of plans, weeks and take-offs: every sheet that is served, the order as CSV, and the drawings."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial

from flask import Blueprint, Response, request

from service.documents.blocks import Paper, Sheet, TitleBlock
from service.documents.cut_sheet import sheet_of
from service.documents.labels import labels_of
from service.documents.order_sheets import customer_sheet, order_csv, yard_sheet
from service.documents.sheets import Form, answers_of, document, paper_asked, serve_sheet
from service.documents.take_off_pages import take_off_sheet
from service.documents.week_sheets import morning_sheet, order_sheet, week_sheet
from service.drawing.lap_map import draw_wall
from service.drawing.layout import layouts_of
from service.drawing.pattern import draw_plan
from service.drawing.shapes import Drawing
from service.drawing.svg import svg
from service.finished import apart, finished
from service.http.documented import Parameter, documented
from service.http.problems import Problem, not_found
from service.http.strict_json import read_body
from service.letterhead import title_block
from service.plans import measured, own, planned
from service.routes.printing import PRINTER, printed
from service.weeks import day_of, planned_week, week_key
from service.wire.takeoffs.takeoff import TakeOffSchema, read_take_off
from solver.job import Job
from solver.plan import CutPlan
from solver.weekly.plan import WeekPlan
from workers.plans.record import Record
from workers.weeks.record import KeptWeek

_NOTHING_IN = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
_OF_PLANS = ("malformed-query", "not-found", "not-ready", "no-plan", "expired")
_OF_WEEKS = ("malformed-query", "not-found", "not-ready", "unreadable")
_OF_BODIES = ("not-json", "malformed-query", "length-required", "too-large", "not-accepted", "unplannable")
of_plans = Blueprint("documents", __name__, url_prefix="/v1/cut-plans/<plan_id>")
of_weeks = Blueprint("week_sheets", __name__, url_prefix="/v1/crews/<crew>/weeks/<week>")
of_take_offs = Blueprint("take_off_sheets", __name__, url_prefix="/v1/takeoffs")


@of_plans.get("/order.csv")
@documented(
    "The order as CSV",
    answers=answers_of(
        "RFC 4180, UTF-8: a row for each length to order, then one for each thing that a supplier charges beside "
        "them, then one for each thing that the job needs besides what is cut. Only the first have `sticks`. The "
        "others say what under `material`: of a charge how much under `amount`, of a thing that is needed how much "
        "under `quantity` and `unit`, and under `stock` what it is bought as, or that it is not ordered. All that "
        "stands under `amount` and `fixed_cost` comes to `order_total`",
        "text/csv",
    ),
    problems=_OF_PLANS,
    headers=["If-None-Match"],
)
def order(plan_id: str) -> Response:
    """Return what to order, and what the job needs besides."""
    return finished(plan_id, partial(_order, plan_id))


def _order(plan_id: str) -> Response:
    job, plan = planned(plan_id)
    block = title_block(own(plan_id))
    name = f"attachment; filename=order-{block.number}.csv"
    return document(order_csv(job, plan, block).encode(), "text/csv; charset=utf-8; header=present", disposition=name)


def cut_sheet(plan_id: str) -> Sheet:
    """Return how the pieces of a plan are cut, then how they are hung; of a measured house with its story pole."""
    pole = read_take_off(measured(plan_id)).pole if own(plan_id).is_measured else None
    return _sheet(plan_id, partial(sheet_of, pole=pole))


def yard_order(plan_id: str) -> Sheet:
    """Return what the yard pulls."""
    return _sheet(plan_id, yard_sheet)


def customer_copy(plan_id: str) -> Sheet:
    """Return what the order costs, and what was asked for."""
    return _sheet(plan_id, customer_sheet)


def _sheet(plan_id: str, make: Callable[[Job, CutPlan, TitleBlock, datetime, Paper], Sheet]) -> Sheet:
    record, (job, plan) = own(plan_id), planned(plan_id)
    return make(job, plan, title_block(record), _made(record), paper_asked(job.units))


def _made(record: Record) -> datetime:
    """Return when a plan was made, which is when its documents were: they are the same whenever they are asked for."""
    return record.finished_at or datetime.fromtimestamp(0, UTC)


for _path, _make, _page, _file, _name in (
    ("/cut-sheet", cut_sheet, "sheet_page", "sheet_file", "The cut sheet"),
    ("/order", yard_order, "order_page", "order_file", "The order for the yard"),
    ("/customer-copy", customer_copy, "copy_page", "copy_file", "The order with its prices, for the customer"),
):
    serve_sheet(
        of_plans,
        _path,
        _make,
        page=Form(_page, f"{_name}, to print"),
        file=Form(_file, _name),
        name=_path.removeprefix("/"),
        problems=_OF_PLANS,
        serve=lambda make, plan_id: finished(plan_id, make, long=True),
    )


_LABELLED = {"all": (True, True), "pieces": (True, False), "offcuts": (False, True)}


@of_plans.get("/labels.pdf")
@documented(
    "Labels for pieces and kept offcuts",
    answers=answers_of("PDF", "application/pdf"),
    problems=_OF_PLANS,
    query={"of": Parameter("Which labels", {"enum": [*_LABELLED], "default": "all"}), **PRINTER},
    headers=["If-None-Match"],
)
def labels(plan_id: str) -> Response:
    """Return a label for each piece and each offcut that is kept, with a code that leads to its page."""
    return finished(plan_id, partial(_labels, plan_id), long=True)


def _labels(plan_id: str) -> Response:
    record, (job, plan) = own(plan_id), planned(plan_id)
    wanted = request.args.get("of", "all")
    if wanted not in _LABELLED:
        raise Problem("malformed-query", f"of must be one of: {', '.join(_LABELLED)}.")
    pieces, offcuts = _LABELLED[wanted]
    address = f"{request.url_root}plans/{record.number or plan_id}/pieces/"
    found = labels_of(job, plan, record.number, address, pieces=pieces, offcuts=offcuts)
    return printed(found, f"Labels {record.number}".strip(), _made(record))


@of_plans.get("/drawing.svg")
@documented(
    "The drawing",
    answers=answers_of("SVG", "image/svg+xml"),
    problems=_OF_PLANS,
    query={"wall": "The wall whose lap map is wanted, instead of the cuts of the whole plan"},
    headers=["If-None-Match"],
)
def drawing(plan_id: str) -> Response:
    """Return the cut drawing of the whole plan, or the lap map of the wall asked for."""
    return finished(plan_id, partial(_drawing, plan_id))


def _drawing(plan_id: str) -> Response:
    job, plan = planned(plan_id)
    wall = request.args.get("wall")
    drawn = draw_plan(job, plan) if wall is None else _wall(job, plan, wall)
    return document(svg(drawn).encode(), "image/svg+xml; charset=utf-8", security=_NOTHING_IN)


def _wall(job: Job, plan: CutPlan, wall: str) -> Drawing:
    layout = next((layout for layout in layouts_of(job, plan) if layout.id == wall), None)
    if layout is None:
        raise Problem("not-found", "No piece of this plan hangs on the wall asked for.")
    return draw_wall(layout, job.units, plan.warnings)


def whole_week(crew: str, week: str) -> Sheet:
    """Return jobs by day, rack, orders, comparison and the flow of sticks."""
    kept, plan = _planned(crew, week)
    return week_sheet(kept.week, plan, paper_asked(kept.week.units), up_to_date=kept.up_to_date)


def morning(crew: str, week: str, day: str) -> Sheet:
    """Return what to load, to bring, to cut and to keep on a day."""
    (kept, plan), on = _planned(crew, week), day_of(day)
    found = next((one for one in plan.days if one.date == on), None)
    if found is None:
        raise not_found(f"The plan has nothing to cut on {on.isoformat()}.")
    return morning_sheet(kept.week, found, paper_asked(kept.week.units))


def delivery_order(crew: str, week: str, day: str) -> Sheet:
    """Return what one delivery brings."""
    (kept, plan), on = _planned(crew, week), day_of(day)
    # where something has come already, what is still to come is the last
    found = next((one for one in reversed(plan.orders) if one.date == on), None)
    if found is None:
        raise not_found(f"The plan orders nothing for {on.isoformat()}.")
    return order_sheet(kept.week, found, paper_asked(kept.week.units))


def _planned(crew: str, week: str) -> tuple[KeptWeek, WeekPlan]:
    kept = planned_week(week_key(crew, week))
    assert kept.plan is not None
    return kept, kept.plan


serve_sheet(
    of_weeks,
    "/page",
    whole_week,
    page=Form("page", "The week on one page"),
    file=Form("page_file", "The week on paper"),
    name="week",
    problems=_OF_WEEKS,
    serve=lambda make, **_: apart(make),
)
serve_sheet(
    of_weeks,
    "/days/<day>/sheet",
    morning,
    page=Form("morning", "A morning's sheet, to print"),
    file=Form("morning_file", "A morning's sheet"),
    name="morning",
    problems=_OF_WEEKS,
    serve=lambda make, **_: apart(make),
)
serve_sheet(
    of_weeks,
    "/deliveries/<day>/order",
    delivery_order,
    page=Form("order", "The order for a delivery, to print"),
    file=Form("order_file", "The order for a delivery"),
    name="order",
    problems=_OF_WEEKS,
    serve=lambda make, **_: apart(make),
)


def take_off() -> Sheet:
    """Return the sheet of the take-off that the request's body asks for."""
    found = read_take_off(read_body())
    return take_off_sheet(found, datetime.now(UTC), paper_asked(found.house.unit))


serve_sheet(
    of_take_offs,
    "/sheet",
    take_off,
    page=Form("page", "A take-off, to print"),
    file=Form("file", "A take-off on paper"),
    name="take-off",
    problems=_OF_BODIES,
    body=TakeOffSchema,
    serve=apart,
)
