"""``/``: the page at the counter, whole or in parts, and its buttons."""

from __future__ import annotations

from dataclasses import replace

from flask import Response, request
from werkzeug.wrappers import Response as AnyResponse

from service.counter.common import begin, blueprint, new_token, page_of
from service.counter.list_changes import LIST_CHANGES
from service.counter.list_form import ListForm, read_form
from service.counter.list_request import job_of
from service.counter.pasted import Pasted, read_list
from service.counter.reopening import form_of
from service.counter.request import Fault, Refused
from service.counter.rows import MaterialRow, StockRow
from service.counter.stock_changes import changed
from service.cut_plans import own
from service.problems import not_found
from service.state import store


@blueprint.get("/")
def page() -> Response:
    """Show an empty form, or one with the list of a plan in it."""
    plan_id = request.args.get("plan")
    if plan_id is None:
        return show(ListForm(materials=(MaterialRow(stock=(StockRow(), StockRow())),)))
    job = store().job(own(plan_id).id)
    if job is None:
        raise not_found()
    args = request.args
    return show(replace(form_of(job), customer=args.get("customer", ""), po=args.get("po", ""),
                        taken_by=args.get("taken_by", "")))  # fmt: skip


@blueprint.post("/")
def press() -> AnyResponse:
    """Do what a button says: read again, change a row, or plan."""
    form, button = read_form(request.form), request.form.get("do", "plan")
    if button != "plan":
        return show(changed(form, button, LIST_CHANGES), part=request.form.get("part", ""))
    pasted = read_list(form)
    try:
        job, body = job_of(form, pasted)
    except Refused as refused:
        return show(form, faults=refused.faults)
    return begin(form, job, body)


def show(form: ListForm, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it that shows what was read."""
    form = form if form.token else replace(form, token=new_token())
    pasted = read_list(form)
    shown = "reading" if part == "reading" else "list"
    wrong = {fault.place: fault.text for fault in faults}
    return page_of(shown, 422 if faults else 200, form=form, pasted=pasted, said=said(pasted), faults=wrong)


def said(pasted: Pasted) -> str:
    """Return in a sentence how the reading went."""
    if pasted.refusal or not pasted.lines or not any(line.text.strip() for line in pasted.lines):
        return pasted.refusal or "Nothing to read yet."
    if not (pasted.required or pasted.problems):
        return "No piece was found in this text."
    pieces = f"{pasted.pieces:,} piece{'s' * (pasted.pieces != 1)} read"
    match pasted.problems:
        case 0:
            return f"{pieces}, every line clear."
        case 1:
            return f"{pieces}; 1 line needs a look."
        case doubtful:
            return f"{pieces}; {doubtful:,} lines need a look."
