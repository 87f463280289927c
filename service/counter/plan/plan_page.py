"""``/plans/{id}``: how the work goes on, then the order and its drawings; the buttons plan again or amend."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from flask import Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import alternatives, letterhead, plans
from service.alternatives import mark_of, remade
from service.counter.form import StockForm
from service.counter.pages import PATIENCE, blueprint, once, page_of
from service.counter.particulars import particulars_of, typed_of
from service.counter.plan.again import Known, other_job
from service.counter.plan.plan_result import order_text, result_of, side_by_side
from service.counter.request import Fault, Refused
from service.counter.stored import opened
from service.documents.blocks import TitleBlock
from service.finished import apart_if_large
from service.http.problems import Problem
from service.plans import Kept, kept, own
from service.racks import with_rack
from service.views.facts import CALLED_OFF, LOT, MEASURE, compared
from service.views.written import beside
from service.wire.plans.cut_plan import render
from solver.job import Job
from solver.lengths import say
from solver.order import ordered
from solver.plan import CutPlan, OrderLine
from solver.validation import find_problems
from workers import queues
from workers.orders.company import Company
from workers.orders.particulars import Act, Particulars
from workers.orders.plan_number import serial_of
from workers.plans.record import UNREADABLE, Record

_ANCESTORS = 20
"""So many plans are gone back to see how many of a stock length there were."""
NO_BUTTON = "There is no such button."


@blueprint.get("/plans/<plan_id>")
@apart_if_large
def plan(plan_id: str) -> AnyResponse:
    """Show a plan, or how far it is, or why there is none; a plan's number leads to its address."""
    if serial_of(plan_id):
        return redirect(url_for("counter.plan", plan_id=plans.numbered(plan_id).id))
    return _page(own(plan_id))


@blueprint.post("/plans/<plan_id>")
def again(plan_id: str) -> AnyResponse:
    """Do what a button says: stop, amend, call off, or plan something else."""
    record, button = own(plan_id), request.form.get("do", "")
    try:
        if button == "stop":
            plans.wait_for(plans.cancel(record), PATIENCE)
        elif button in ("call-off", "take-up"):
            plans.amend(record, lambda now: replace(now.particulars, called_off=button == "call-off"))
        elif button == "amend":
            plans.amend(record, lambda now: _amended(now.particulars))
        elif button == "alternatives":
            return _with_alternatives(record)
        else:
            return redirect(url_for("counter.plan", plan_id=_other(record, button).id), 303)
    except Refused as refused:
        return _page(record, refused.faults)
    return redirect(url_for("counter.plan", plan_id=plan_id), 303)


def _amended(now: Particulars) -> Particulars:
    """Return particulars with what was changed in the form since it was shown; all else is as it is by now."""
    known, form = typed_of(now), request.form
    typed = {name: form[name] for name in known if name in form and form[name] != form.get(f"was-{name}")}
    return replace(particulars_of(StockForm(**known | typed), now), called_off=now.called_off)


def _with_alternatives(record: Record) -> AnyResponse:
    """Have a plan's alternatives made, wait a moment for them, and lead to their table."""
    job, plan = plans.planned(record.id)
    alternatives.ask(record, job, plan, queues.INTERACTIVE)
    plans.wait_for(alternatives.asked_of(record, job, plan)[-1].record, PATIENCE)
    return redirect(url_for("counter.plan", plan_id=record.id, _anchor="alternatives"), 303)


def _other(record: Record, button: str) -> Record:
    """Plan what a button asks for, made from this plan; pressed twice it is planned once. Raises ``Refused``."""
    whole = kept(record)
    other = other_job(whole.job, whole.plan, button, request.form, _known(record)) if whole.job else None
    if whole.job is None or other is None:
        raise Problem("not-found", NO_BUTTON)
    if problems := find_problems(with_rack(other)):
        raise Refused(tuple(Fault("order", problem.detail) for problem in problems))
    pressed = {name: value for name, value in request.form.items() if name in ("there", "length", "price", "times")}
    replaces = "" if button == "copy" else plans.replaced_by_another(record)
    return once(remade(record, whole.job, other, mark_of(record, button, pressed), queues.INTERACTIVE, replaces))


def _known(record: Record) -> Known:
    """Return how many there were of a stock length in the plan that this one was made from, or before that."""

    def known(material: str, stock: str) -> int | None:
        for before in plans.ancestors(record, _ANCESTORS):
            rows = [row for each in before.materials if each.id == material for row in each.stock if row.id == stock]
            if rows and rows[0].available != 0:
                return rows[0].available
        return None

    return known


def _page(record: Record, faults: tuple[Fault, ...] = ()) -> Response:
    whole = kept(record)
    record, job = whole.record, whole.job
    if job is None:
        raise Problem("no-plan", UNREADABLE.detail)
    written = plans.written(record)
    told = {
        "beside": list(beside(job)), "written": written["text"] if written else "",
        "record": record, "job": job, "title": letterhead.title_block(record), "faults": faults,
        "can_reopen": opened(job, written).readable, "money": job.priced,
        "progress": render(record, job, None)["progress"],
    }  # fmt: skip
    if whole.plan:
        told |= _finished(whole, job, told["title"])
    name = "plan" if whole.plan else "stopped" if record.state.over else "waiting"
    return page_of(name, 422 if faults else 200, **told)


def _finished(whole: Kept, job: Job, title: TitleBlock) -> dict[str, object]:
    assert whole.plan is not None
    record, result = whole.record, result_of(job, whole.plan, title.company)
    known = typed_of(record.particulars)
    return {
        "plan": whole.plan,
        "result": result,
        "text": order_text(result, title),
        "lot": LOT,
        "measure": MEASURE,
        "called_off": CALLED_OFF,
        "typed": StockForm(**(known | {name: request.form[name] for name in known if name in request.form})),
        "was": {name: request.form.get(f"was-{name}", value) for name, value in known.items()},
        "promise": promise(record, title.company, job, whole.plan),
        "compared": _compared(record, whole),
        **side_by_side(record, job, whole.plan),
    }


def _compared(record: Record, whole: Kept) -> str:
    """Return how the plan differs from the one it was made from, empty where there is none or it is gone."""
    try:
        before = kept(plans.numbered(record.made_from)) if record.made_from else None
    except Problem:
        return ""
    if before is None or before.plan is None or whole.plan is None or before.job is None or whole.job is None:
        return ""
    if record.deeds and record.deeds[0].act is Act.CONTINUED:
        left = "what was cut of it stays, and what is left of its sticks is used"
        return f"The rest of plan {record.made_from}: {left}."
    return compared((before.job, before.plan), (whole.job, whole.plan), record.made_from)


_SATURDAY = 5


def promise(record: Record, company: Company, job: Job, plan: CutPlan) -> str:
    """Return in words by when an order from stock is ready, and what is short for it; empty if nobody said anything.

    What is there counts as it was said of the stock lengths; of those where it was not said, that is told.
    """
    wanted, short = record.particulars.wanted_by, list(shortages(job, plan))
    missing = f"Short: {'; '.join(short)}." if short else ""
    if company.ready_days is None:
        unsaid = f"Wanted by {said(wanted)}. The settings do not say how many days an order takes." if wanted else ""
        return " ".join(filter(None, (unsaid, missing)))
    ready = ready_on(record.created_at.astimezone().date(), company.ready_days)
    if wanted is None:
        return " ".join(filter(None, (f"From stock it is ready on {said(ready)}.", missing)))
    late = ready > wanted
    answer = "No" if late else "Not all of it" if short else "Yes"
    unknown = sorted({f"{say(line.length, job.units)} {line.material}" for line in _uncounted(job, plan)})
    doubt = f"How many there are of {', '.join(unknown)} was not said." if unknown and not late else ""
    told = f"By {said(wanted)}? {answer}: from stock it is ready on {said(ready)}."
    return " ".join(filter(None, (told, missing, doubt)))


def shortages(job: Job, plan: CutPlan) -> Iterator[str]:
    """Yield what the stock that is there does not come to: sticks ordered beyond it, and pieces that stay uncut."""
    rows = {(material.id, row.id): row for material in job.materials for row in material.stock}
    for line in plan.order:
        row = rows[line.material, line.stock]
        count = ordered(line, row)
        if row.available is not None and count > row.available:
            yield f"{count - row.available} of {count} × {say(line.length, job.units)} {line.material}"
    for entry in plan.not_cut:
        item = job.required[entry.item]
        yield f"{entry.quantity} × {say(item.length, job.units)} {item.material}, mark {entry.mark}, can't be cut"


def _uncounted(job: Job, plan: CutPlan) -> Iterator[OrderLine]:
    """Yield the lines of the order of which it was not said how many sticks there are."""
    counted = {(each.id, row.id) for each in job.materials for row in each.stock if row.available is not None}
    return (line for line in plan.order if (line.material, line.stock) not in counted)


def ready_on(ordered: date, days: int) -> date:
    """Return the day so many working days, Monday to Friday, after an order; one of a weekend counts from Monday."""
    day = ordered
    while day.weekday() >= _SATURDAY:
        day += timedelta(days=1)
    for _ in range(days):
        day += timedelta(days=1)
        while day.weekday() >= _SATURDAY:
            day += timedelta(days=1)
    return day


def said(day: date) -> str:
    """Return a day as one says it, ``Friday 4 December``."""
    return f"{day:%A} {day.day} {day:%B}"
