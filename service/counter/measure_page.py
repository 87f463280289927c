"""``/measure``: walls, openings, ceilings and eaves typed in, drawn at once, then planned like any list."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from flask import Response, request
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter import drafted
from service.counter.catalogue import picking
from service.counter.changes import changed
from service.counter.house import stored, words
from service.counter.house.changes import HOUSE_CHANGES
from service.counter.house.form import HouseForm, empty_house, read_house
from service.counter.house.shown import shown_of
from service.counter.house.stored import Measured
from service.counter.house.surveyed import Surveyed, job_of_house, surveyed
from service.counter.pages import begin, blueprint, new_token, page_of
from service.counter.particulars import particulars_of, typed_of
from service.counter.request import Fault, Refused
from service.documents.sheets import page_of_sheet, paper_asked
from service.documents.take_off_pages import take_off_sheet
from service.http.problems import Problem

GONE = (
    "The plan that this was opened from is no longer kept, and with it what the page does not show. "
    "Press Plan again to go on without that."
)


@blueprint.get("/measure")
def measure() -> Response:
    """Show an empty form, or one with the measurements of a plan in it."""
    plan_id = request.args.get("plan")
    if typed := drafted.fields_of("/measure"):
        form = read_house(typed)
        return _show(form, _opened_from(form))
    if plan_id is None:
        return _show(empty_house(drafted.token_asked() or new_token()), None)
    kept = stored.opened(plans.measured(plan_id))
    known = typed_of(plans.own(plan_id).particulars)
    return _show(replace(kept.form, plan=plan_id, token=new_token(), **known), kept)


@blueprint.post("/measure")
def draw() -> AnyResponse:
    """Do what a button says: draw again, change a row, print the take-off, or plan."""
    form, button = picking.filled(read_house(request.form)), request.form.get("do", "plan")
    form = form if form.token else replace(form, token=new_token())
    kept = _opened_from(form)
    if button not in ("plan", "sheet"):
        buttons = {**HOUSE_CHANGES, **picking.changes(request.form.get("pick", ""))}
        after = picking.filled(changed(form, button, buttons))
        return _show(after, kept, part=request.form.get("part", ""))
    if form.plan and not kept:
        return _show(replace(form, plan=""), None, (Fault("plan", GONE),))
    try:
        return _sheet(form, kept) if button == "sheet" else _planned(form, kept)
    except Refused as refused:
        return _show(form, kept, refused.faults)


def _opened_from(form: HouseForm) -> Measured | None:
    """Return the measurements that the form was opened from, None where there are none, or none any more."""
    try:
        return stored.opened(plans.measured(form.plan)) if form.plan else None
    except Problem:
        return None


def _planned(form: HouseForm, kept: Measured | None) -> AnyResponse:
    """Plan it. Raises ``Refused`` with every fault of what was measured and of the particulars."""
    try:
        job, body, measured = job_of_house(form, kept)
    except Refused as refused:
        raise Refused((*refused.faults, *_of_particulars(form))) from None
    return begin(form, job, body, measured)


def _of_particulars(form: HouseForm) -> tuple[Fault, ...]:
    try:
        particulars_of(form)
    except Refused as refused:
        return refused.faults
    return ()


def _sheet(form: HouseForm, kept: Measured | None) -> Response:
    found = surveyed(form, kept).whole
    return page_of_sheet(take_off_sheet(found, datetime.now(UTC), paper_asked(form.unit)))


def _show(form: HouseForm, kept: Measured | None, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it with the drawings; faults of what is not planned yet stand beside them."""
    survey = Surveyed(None, (), ()) if form.blank else surveyed(form, kept)
    told = {
        "form": form, "words": words, "found": shown_of(form, survey), "doubts": () if faults else survey.faults,
        "faults": {fault.place: fault.text for fault in faults},
    }  # fmt: skip
    return page_of("measured_parts" if part == "measured" else "measure", 422 if faults else 200, **told)
