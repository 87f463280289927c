"""``/``: the page at the counter, whole or in parts, and its buttons."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import replace
from urllib.parse import urlencode, urlsplit

from flask import Blueprint, Response, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import access
from service.counter import choices
from service.counter.asking import Fault, Refused, job_of
from service.counter.changes import changed
from service.counter.form import CounterForm, MaterialRow, StockRow, read_form
from service.counter.pasted import Pasted, read_list
from service.counter.reopening import form_of
from service.cut_plans import accept, own, wait_for
from service.problems import CONTENT_TYPE, Problem, not_found
from service.state import service, store
from service.strict_json import fingerprint
from workers import queues
from workers.record import Record, State
from workers.store import Ask

PATIENCE = 1.5
"""Seconds that the browser is kept waiting for a plan before it is shown how the work goes on."""
FACTS = ("customer", "po", "taken_by", "date")
"""What stands in the title block besides the job: carried in the address, kept nowhere."""
blueprint = Blueprint(
    "counter", __name__, template_folder="templates", static_folder="static", static_url_path="/counter"
)


@blueprint.get("/")
def page() -> Response:
    """Show an empty form, or one with the list of a plan in it."""
    plan_id = request.args.get("plan")
    if plan_id is None:
        return show(CounterForm(materials=(MaterialRow(stock=(StockRow(), StockRow())),)))
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
        return show(changed(form, button), part=request.form.get("part", ""))
    pasted = read_list(form)
    try:
        job, body = job_of(form, pasted)
    except Refused as refused:
        return show(form, faults=refused.faults)
    mark = fingerprint(body)
    record = _once(Ask(access.client(), queues.COUNTER, job, f"{form.token}-{mark}", mark))
    facts = {"customer": form.customer, "po": form.po, "taken_by": form.taken_by, "date": choices.today()}
    return redirect(address(record.id, facts), 303)


def address(plan_id: str, facts: Mapping[str, str]) -> str:
    """Return the address of a plan with what is known for its title block."""
    known = {name: text for name, value in facts.items() if (text := value.strip())}
    return f"{url_for('counter.plan', plan_id=plan_id)}?{urlencode(known)}"


def _once(ask: Ask) -> Record:
    """Keep a plan under its key, so that pressing twice plans once; what was cancelled or failed is begun anew."""
    access.spend_turn(store(), service().config)
    record = accept(ask)
    if record.state in (State.CANCELLED, State.FAILED):
        record = accept(replace(ask, key=secrets.token_hex(16)))
    return wait_for(record, PATIENCE)


def show(form: CounterForm, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it that shows what was read."""
    form = form if form.token else replace(form, token=secrets.token_urlsafe(12))
    pasted = read_list(form)
    name = "counter/reading.html" if part == "reading" else "counter/list.html"
    told = {"form": form, "pasted": pasted, "choices": choices, "said": said(pasted)}
    text = render_template(name, **told, faults={fault.place: fault.text for fault in faults})
    response = make_response(text, 422 if faults else 200)
    response.headers["Cache-Control"] = "no-store"
    return response


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


@blueprint.before_request
def refuse_strangers() -> None:
    """Take forms from our own pages alone (Fetch Metadata, W3C; else Origin, RFC 6454)."""
    if request.method != "POST":
        return
    site, origin = request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin", "null")
    own_site = site in ("same-origin", "none") if site else origin == "null" or urlsplit(origin).netloc == request.host
    if not own_site:
        raise Problem("not-found", "This form was sent from another site.")


@blueprint.after_request
def tell_people(response: Response) -> Response:
    """Answer people with a page where programs get a problem document."""
    response.headers.setdefault("Referrer-Policy", "same-origin")
    if response.mimetype != CONTENT_TYPE:
        return response
    told = response.get_json()
    response.set_data(render_template("counter/problem.html", problem=told))
    response.mimetype = "text/html"
    return response
