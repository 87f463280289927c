"""``/``: the page at the counter, whole or in parts, and its buttons."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from flask import Response, request
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter import drafted
from service.counter.catalogue import picking
from service.counter.changes import LIST_CHANGES, changed
from service.counter.form import ListForm, MaterialRow, StockRow, read_form
from service.counter.pages import begin, blueprint, new_token, page_of
from service.counter.particulars import particulars_of, typed_of
from service.counter.pasted import Pasted, beyond_list, job_of, read_list, written
from service.counter.plan.plans_page import at_hand
from service.counter.request import Fault, Refused
from service.counter.stored import Stored, besides, opened
from service.customers import answers_of, keep_answers
from service.http.problems import Problem, not_found
from service.spreadsheets import Unreadable
from service.spreadsheets import opened as opened_file
from service.wire import limits
from solver.cutlist import Account, sheet_line
from solver.lengths import Unit, say
from solver.required import Required

GONE = (
    "The plan that this list was opened from is no longer kept, and with it what the page does not show. "
    "Copy the list into an empty page."
)

_BLANK = MaterialRow(stock=(StockRow(), StockRow()))


@blueprint.get("/")
def page() -> Response:
    """Show an empty form, or one with the list of a plan in it."""
    plan_id = request.args.get("plan")
    if typed := drafted.fields_of("/"):
        form = read_form(typed)
        return show(form, _opened_from(form))
    if plan_id is None:
        return show(ListForm(materials=(_BLANK,), token=drafted.token_asked()), None)
    record = plans.own(plan_id)
    job = plans.kept(record).job
    if job is None:
        raise not_found()
    stored = opened(job, plans.written(record))
    if not stored.readable:
        raise Problem("unplannable", "Not every piece of this plan can be written in a line: post it again instead.")
    return show(replace(stored.form, plan=plan_id, **typed_of(record.particulars)), stored)


@blueprint.post("/")
def press() -> AnyResponse:
    """Do what a button says: read again, change a row, or plan."""
    form, button = picking.filled(read_form(request.form)), request.form.get("do", "plan")
    stored = _opened_from(form)
    if button == "open":
        return _with_file(form, stored)
    if button == "forget-answers":
        keep_answers(form.customer, {})
        return show(form, stored)
    if button != "plan":
        buttons = {**LIST_CHANGES, **picking.changes(request.form.get("pick", ""))}
        return show(changed(form, button, buttons), stored, part=request.form.get("part", ""))
    if form.plan and not stored:
        return show(form, stored, (Fault("text", GONE),))
    faults: tuple[Fault, ...] = ()
    form, pasted = _read(form, stored)
    try:
        job, body = job_of(form, pasted, stored)
    except Refused as refused:
        faults = refused.faults
    if form.keep_answers and not form.customer.strip():
        faults += (Fault("customer", "Say whose answers are to be kept, or do not keep them."),)
    try:
        if not faults:
            _keep(form)
            return begin(form, job, body, written=written(form, answers_of(form.customer)))
        particulars_of(form)
    except Refused as refused:
        faults += refused.faults
    return show(form, stored, faults)


def _keep(form: ListForm) -> None:
    """Keep the answers for the customer's next list, with those kept before, if that was asked for."""
    if form.keep_answers:
        keep_answers(form.customer, {**answers_of(form.customer), **dict(form.assume)})


def _with_file(form: ListForm, stored: Stored | None) -> Response:
    """Show the form with the lists of files put below what its list has."""
    files = [file for file in request.files.getlist("file") if file.filename]
    text = form.text.rstrip()
    try:
        for file in files:
            rows = opened_file(file.read()).text
            text = f"{text}\n{sheet_line(file.filename or '')}\n{rows}" if text else rows
    except Unreadable as unreadable:
        return show(form, stored, (Fault("file", f"This file can't be read: {unreadable}."),))
    faults = () if files else (Fault("file", "Choose a file first."),)
    return show(replace(form, text=text), stored, faults)


def _opened_from(form: ListForm) -> Stored | None:
    """Return the stored request that the form was opened from, None where there is none, or none any more."""
    try:
        whole = plans.kept(plans.own(form.plan)) if form.plan else None
    except Problem:
        return None
    return opened(whole.job, plans.written(whole.record)) if whole and whole.job else None


def show(form: ListForm, stored: Stored | None, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it that shows what was read."""
    form = form if form.token else replace(form, token=new_token())
    if part == "reading":
        pasted = read_list(form, stored, answers_of(form.customer))
    else:
        form, pasted = _read(form, stored)
    kept = {
        "beyond": beyond_list(pasted, form.unit),
        "besides": (besides(stored, form) if stored else {}) | picking.besides(form),
        "like": {name: picking.known().like(name) for name in pasted.strange},
        "reckoned": reckoned(pasted.account, pasted.required, form.unit) if pasted.account else "",
    }
    shown = "reading" if part == "reading" else "list"
    fresh = shown == "list" and request.method == "GET" and not (form.plan or form.text)
    kept |= {"unfinished": drafted.unfinished() if fresh else [], "address": drafted.address}
    kept |= {"at_hand": at_hand() if fresh else (), "fresh": fresh}
    wrong = {fault.place: fault.text for fault in faults}
    status = 422 if faults else 200
    return page_of(shown, status, form=form, pasted=pasted, said=said(pasted), faults=wrong, **kept)


def _read(form: ListForm, stored: Stored | None) -> tuple[ListForm, Pasted]:
    """Return the list as read, and the form with the materials of the catalogue that the list names."""
    pasted = read_list(form, stored, answers_of(form.customer))
    after = picking.adopted(form, pasted.strange)
    return after, pasted if after == form else read_list(after, stored, answers_of(form.customer))


def said(pasted: Pasted) -> str:
    """Return in a sentence how the reading went."""
    if pasted.refusal or not pasted.lines or not any(line.text.strip() for line in pasted.lines):
        return pasted.refusal or "Nothing to read yet."
    if not (pasted.required or pasted.problems):
        return "No piece was found in this text."
    pieces = f"{pasted.pieces:,} piece{'s' * (pasted.pieces != 1)} read"
    if len(pasted.required) > limits.LINES:
        return f"{pieces} in {len(pasted.required):,} items; one plan may have {limits.LINES:,}: divide the list."
    match pasted.problems:
        case 0:
            return f"{pieces}, every line clear."
        case 1:
            return f"{pieces}; 1 line needs a look."
        case doubtful:
            return f"{pieces}; {doubtful:,} lines need a look."


def reckoned(account: Account, required: Iterable[Required], unit: Unit) -> str:
    """Return what became of every line, and what those that were read come to, on all courses that are kept of them."""
    courses = [(item.pieces - item.quantity, item.length) for item in required if item.courses > 1]
    pieces = account.pieces + sum(more for more, _ in courses)
    length = account.length + sum(more * each for more, each in courses)
    kinds = (
        (account.read, "read"),
        (account.asked, "to be answered"),
        (account.refused, "not clear"),
        (account.headings, "heading" if account.headings == 1 else "headings"),
        (account.comments, "without pieces"),
        (account.blank, "empty"),
    )
    became = ", ".join(f"{count} {what}" for count, what in kinds if count)
    words = [f"{account.lines} line{'s' * (account.lines != 1)}: {became}.",
             f"{pieces:,} pieces, {say(length, unit)} in all."]  # fmt: skip
    words += [f"The total in line {total.line} agrees." for total in account.totals if total.agrees]
    return " ".join(words)
