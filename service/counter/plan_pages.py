"""``/plans/{id}``: how the work goes on, then the order and the drawings; its buttons plan again."""

from __future__ import annotations

from dataclasses import replace

from flask import Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service import access
from service.counter.common import FACTS, PATIENCE, address, blueprint, once, page_of
from service.counter.result import order_text, result_of
from service.counter.stored import opened
from service.plans import cancel, kept, own, wait_for
from service.problems import Problem
from service.views.facts import LOT, MEASURE
from service.wire.cut_plan import render
from solver.impossible import find_problems
from solver.job import Job
from solver.materials import Material
from workers import queues
from workers.record import UNREADABLE, Record
from workers.store import Ask

LONGER = 60.0
"""Seconds for those who want to look for longer."""
_LABELS = {"customer": "Customer", "po": "Purchase order no.", "date": "Date", "taken_by": "Taken by"}


@blueprint.get("/plans/<plan_id>")
def plan(plan_id: str) -> Response:
    """Show a plan, or how far it is, or why there is none."""
    return _page(own(plan_id))


@blueprint.post("/plans/<plan_id>")
def again(plan_id: str) -> AnyResponse:
    """Stop, or plan the same list without a stock length, with it again, or for longer."""
    record = own(plan_id)
    button = request.form.get("do", "")
    if button == "stop":
        wait_for(cancel(record), PATIENCE)
        return redirect(address(plan_id, facts()), 303)
    job = kept(record).job
    other = _changed(job, button) if job else None
    if other is None:
        raise Problem("not-found", "There is no such button.")
    if problems := find_problems(other):
        return _page(record, [problem.detail for problem in problems])
    key = f"{plan_id}:{button}"
    following = once(Ask(access.client(), queues.INTERACTIVE, other, key[:255], key))
    return redirect(address(following.id, facts()), 303)


def facts() -> dict[str, str]:
    """Return what the address says for the title block."""
    return {name: value for name in FACTS if (value := request.args.get(name, "").strip()[:120])}


def _changed(job: Job, button: str) -> Job | None:
    """Return the job after a button, None where there is no such button."""
    what, _, where = button.partition(":")
    if what == "longer":
        return replace(job, seconds=LONGER)
    place, _, stock = where.partition(":")
    if what not in ("out", "back") or not place.isdigit() or int(place) >= len(job.materials):
        return None
    materials = list(job.materials)
    materials[int(place)] = _switched(materials[int(place)], stock, 0 if what == "out" else None)
    return replace(job, materials=tuple(materials))


def _switched(material: Material, stock: str, available: int | None) -> Material:
    rows = (replace(row, available=available) if row.id == stock else row for row in material.stock)
    return replace(material, stock=tuple(rows))


def _page(record: Record, refused: list[str] | None = None) -> Response:
    whole = kept(record)
    record, job, found, known = whole.record, whole.job, whole.plan, facts()
    if job is None:
        raise Problem("no-plan", UNREADABLE.detail)
    told = {
        "record": record, "job": job, "facts": known, "labels": _LABELS, "refused": refused or [],
        "can_reopen": opened(job).readable, "progress": render(record, job, None)["progress"],
        "money": job.priced,
    }  # fmt: skip
    if found:
        result = result_of(job, found)
        named = {_LABELS[name]: value for name, value in known.items()}
        told |= {"plan": found, "result": result, "text": order_text(job, result, named)}
        told |= {"lot": LOT, "measure": MEASURE}
    name = "plan" if found else "stopped" if record.state.over else "waiting"
    return page_of(name, 422 if refused else 200, **told)
