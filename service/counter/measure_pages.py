"""``/measure``: walls, openings, ceilings and eaves typed in, drawn at once, then planned like any list."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from flask import Response, request
from werkzeug.wrappers import Response as AnyResponse

from service import access
from service.counter.common import begin, blueprint, new_token, page_of
from service.counter.house_changes import HOUSE_CHANGES
from service.counter.house_form import HouseForm, empty_house, read_house
from service.counter.house_request import job_of_house, taken_off
from service.counter.measured import Measured, measured_of
from service.counter.request import Fault, Refused
from service.counter.stock_changes import changed
from service.documents.sheets import page_of_sheet, paper_asked
from service.documents.take_off_pages import take_off_sheet


@blueprint.get("/measure")
def measure() -> Response:
    """Show an empty form."""
    return _show(empty_house(new_token()))


@blueprint.post("/measure")
def draw() -> AnyResponse:
    """Do what a button says: draw again, change a row, print the take-off, or plan."""
    form, button = read_house(request.form), request.form.get("do", "plan")
    form = form if form.token else replace(form, token=new_token())
    if button not in ("plan", "sheet"):
        return _show(changed(form, button, HOUSE_CHANGES), part=request.form.get("part", ""))
    access.spend_turn("plans")
    try:
        return _sheet(form) if button == "sheet" else begin(form, *job_of_house(form))
    except Refused as refused:
        return _show(form, refused.faults)


def _show(form: HouseForm, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it with the drawings; faults of what is not planned yet stand beside them."""
    found, doubts = _measured(form)
    shown = "measured" if part == "measured" else "measure"
    wrong = {fault.place: fault.text for fault in faults}
    return page_of(shown, 422 if faults else 200, form=form, found=found, doubts=doubts, faults=wrong)


def _measured(form: HouseForm) -> tuple[Measured | None, tuple[Fault, ...]]:
    if form.blank:
        return None, ()
    try:
        return measured_of(taken_off(form)), ()
    except Refused as refused:
        return None, refused.faults


def _sheet(form: HouseForm) -> Response:
    found = taken_off(form)
    return page_of_sheet(take_off_sheet(found, datetime.now(UTC), paper_asked(form.unit)))
