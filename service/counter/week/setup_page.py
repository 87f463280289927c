"""``/weeks/{crew}/{week}/setup``: what a week is planned with: materials, days on which sticks come, and the van."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any

from flask import request
from werkzeug.wrappers import Response as AnyResponse

from service import week_changes, weeks
from service.counter.catalogue import picking
from service.counter.changes import STOCK_CHANGES, changed
from service.counter.form import MaterialRow, StockForm, stock_fields, texts
from service.counter.pages import blueprint, page_of
from service.counter.request import Fault, Request, fault_of, material_of, stock_faults
from service.counter.stored import Stored, besides, opened
from service.counter.week.shared import NOWHERE, at_week, believed, day_words, days_of
from service.http.problems import Problem
from service.week_racks import back_on_rack
from service.wire.typed import asked, typed
from service.wire.week import WeekLimitsSchema, render_week
from solver.job import Job
from solver.lengths import Unit
from solver.weekly.week import Week, WeekLimits
from workers.codec import Unreadable
from workers.weeks.record import KeptWeek, WeekKey

LIMITS = WeekLimitsSchema().fields
_NIGHT_BEFORE = timedelta(days=3)
_AS_BEFORE = ("as-before", "with-left")
"""Buttons that begin a week as the one before it; the second with what that one left."""


@blueprint.get("/weeks/<crew>/<week>/setup")
def week_setup(crew: str, week: str) -> AnyResponse:
    """Show what a week is planned with, or an empty form for one that is not begun."""
    key = weeks.week_key(crew, week)
    kept = weeks.weeks().fetch(key)
    if kept is None:
        return show(key, StockForm(), {"d": {key.monday.isoformat()}, **_limits(WeekLimits(), Unit.IN)}, {}, "")
    stored = _stored(kept.week)
    form = replace(stored.form, rack=kept.week.use_rack)
    dates = {delivery.date.isoformat() for delivery in kept.week.deliveries}
    typed_in = {"d": dates, **_limits(kept.week.limits, kept.week.units)}
    return show(key, form, typed_in, besides(stored, form), weeks.mark_of(kept))


@blueprint.post("/weeks/<crew>/<week>/setup")
def week_set(crew: str, week: str) -> AnyResponse:
    """Do what a button says: change a row of the materials, or keep."""
    key = weeks.week_key(crew, week)
    kept = weeks.weeks().fetch(key)
    stored = _stored(kept.week) if kept else None
    form = StockForm(**{**texts(StockForm, request.form), **stock_fields(request.form)})
    form, button = picking.filled(form), request.form.get("do", "keep")
    typed_in: dict[str, Any] = {"d": set(request.form.getlist("d")), **{name: _said(name) for name in LIMITS}}
    beyond = besides(stored, form) if stored else {}
    if button not in ("keep", *_AS_BEFORE):
        buttons = {**STOCK_CHANGES, **picking.changes(request.form.get("pick", ""))}
        return show(key, _without_blank(changed(form, button, buttons), button), typed_in, beyond, believed())
    if button in _AS_BEFORE and kept is None and (earlier := _earlier(key)):
        begin = _as_in(earlier, key)
        if button == "with-left":
            back_on_rack(earlier.key)
            begin["use_rack"] = True
        week_changes.put_week(key, begin, "")
        return at_week(key, "kept")
    form = _without_blank(form)
    faults = list(stock_faults(form, set(form.names)))
    if not faults:
        asked_for, request_ = _request(form, typed_in, stored)
        try:
            week_changes.put_week(key, asked_for, believed())
        except Problem as problem:
            faults = [fault_of(request_, form, error) for error in problem.errors]
            faults = faults or [Fault(NOWHERE, problem.detail)]
            mark = weeks.mark_of(weeks.weeks().fetch(key)) if problem.kind == "changed" else believed()
            return show(key, form, typed_in, beyond, mark, faults)
        return at_week(key, "kept")
    return show(key, form, typed_in, beyond, believed(), faults)


def _earlier(key: WeekKey) -> KeptWeek | None:
    """Return the crew's last week before this one, if there is any that can be read."""
    same = [one for one in weeks.weeks().every_key() if (one.client, one.crew) == (key.client, key.crew)]
    before = max((one for one in same if one.monday < key.monday), key=lambda one: one.monday, default=None)
    try:
        return weeks.weeks().fetch(before) if before else None
    except Unreadable:
        return None


def _as_in(earlier: KeptWeek, key: WeekKey) -> dict[str, Any]:
    """Return a week planned with what an earlier one was, its deliveries on the same days."""
    told, later = render_week(earlier), key.monday - earlier.week.monday
    body = {name: told[name] for name in ("units", "materials", "limits", "use_rack")}
    return body | {"deliveries": [{"date": (each.date + later).isoformat()} for each in earlier.week.deliveries]}


def _said(name: str) -> str:
    return request.form.get(name, "").strip()


def _stored(week: Week) -> Stored:
    """Return the materials of a week as the page opens them."""
    return opened(Job("", week.units, week.materials, ()))


def _without_blank(form: StockForm, button: str = "pick") -> StockForm:
    """Return the form without rows of materials in which nothing stands, where others do."""
    if button != "pick":
        return form
    kept = tuple(row for row in form.materials if row.name.strip() or not all(stock.blank for stock in row.stock))
    return replace(form, materials=kept or (MaterialRow(),))


def _limits(limits: WeekLimits, unit: Unit) -> dict[str, str]:
    told = {name: getattr(limits, name) for name in LIMITS}
    return {name: "" if value is None else typed(value, LIMITS[name], unit) for name, value in told.items()}


def _request(form: StockForm, typed_in: Mapping[str, Any], stored: Stored | None) -> tuple[dict[str, Any], Request]:
    """Return the week as it is asked for; what the page does not show of its materials stays as it is."""
    made = Request(nowhere=NOWHERE, behind=picking.behind(form))
    made.places |= {f"#/limits/{name}": name for name in LIMITS} | {"#/deliveries": "d"}
    told = [material_of(made, form, f"#/materials/{place}", place) for place in range(len(form.materials))]
    made.body = {"name": "", "units": form.units, "materials": told, "walls": [], "required": [], "offcuts": [],
                 "rack": False, "within_days": None}  # fmt: skip
    materials = stored.request(made, form.unit)["materials"] if stored else told
    limits = {name: asked(text, LIMITS[name]) for name in LIMITS if (text := typed_in[name])}
    body = {"units": form.units, "materials": materials, "use_rack": form.rack, "limits": limits}
    return body | {"deliveries": [{"date": day} for day in sorted(typed_in["d"])]}, made


def show(
    key: WeekKey, form: StockForm, typed_in: Mapping[str, Any], beyond: Mapping[str, str], mark: str,
    faults: list[Fault] | None = None,
) -> AnyResponse:  # fmt: skip
    """Return the page as typed."""
    wrong = {fault.place: fault.text for fault in faults or ()}
    offered = [key.monday - _NIGHT_BEFORE, *days_of(key)]
    days = sorted({day.isoformat(): day_words(day) for day in offered}.items())
    days += [(day, day) for day in sorted(typed_in["d"] - {day for day, _ in days})]
    return page_of("week_setup", 422 if wrong else 200, key=key, form=form, typed=typed_in, besides=beyond, mark=mark,
                   faults=wrong, offered=days, earlier=None if mark else _earlier(key))  # fmt: skip
