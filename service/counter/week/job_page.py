"""``/weeks/{crew}/{week}/job``: a job put into a week from a list as the customer wrote it, or from a plan."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from flask import request
from werkzeug.wrappers import Response as AnyResponse

from service import plans, week_changes, weeks
from service.counter.catalogue import picking
from service.counter.changes import LIST_CHANGES, changed
from service.counter.form import ListForm, read_form
from service.counter.list_page import reckoned, said
from service.counter.pages import blueprint, page_of
from service.counter.pasted import Pasted, beyond_list, list_faults, read_list
from service.counter.request import Fault
from service.counter.stored import Stored, material_row, opened
from service.counter.week.shared import NOWHERE, at_week, believed, day_typed, day_words, days_of, seen, told
from service.http.problems import Problem, not_found
from service.wire import limits
from service.wire.required import render_required, render_wall
from service.wire.week import WeekJobSchema, dated_job_of, loaded
from solver.job import Job
from solver.materials import Material
from solver.weekly.week import DatedJob, Week
from workers.weeks.record import KeptWeek, WeekKey

_ITEM = re.compile(r"#/required/([0-9]+)")
_UNNAMED = re.compile(r"[\x00-\x1f\x7f/]+")


@dataclass(frozen=True, slots=True)
class Asked:
    """A job as the page has it: the list with how it is read, and which job of the week it changes, if any."""

    form: ListForm
    stored: Stored | None
    of: str
    on: str

    @property
    def pasted(self) -> Pasted:
        """The list as read."""
        return read_list(self.form, self.stored, {})

    @property
    def name(self) -> str:
        """What the job is called in addresses."""
        return self.of or _UNNAMED.sub("-", self.form.job.strip())[: limits.ID]


@blueprint.get("/weeks/<crew>/<week>/job")
def week_job(crew: str, week: str) -> AnyResponse:
    """Show an empty list, or that of a job."""
    kept = weeks.kept_week(weeks.week_key(crew, week))
    of = request.args.get("of", "")
    if not of:
        return _show(
            kept, Asked(_rows(ListForm(units=kept.week.units), kept.week), None, "", request.args.get("on", ""))
        )
    job = _job(kept.week, of)
    stored = _stored(kept.week, job)
    if not stored.readable:
        raise Problem("unplannable", f"Not every piece of {of} can be written in a line: put it again by its program.")
    return _show(kept, Asked(replace(stored.form, job=job.name or job.id), stored, of, job.date.isoformat()))


@blueprint.post("/weeks/<crew>/<week>/job")
def week_put_job(crew: str, week: str) -> AnyResponse:
    """Do what a button says: read again, answer, take a plan over, or put the job into the week."""
    key = weeks.week_key(crew, week)
    kept, of = weeks.kept_week(key), request.form.get("of", "")
    stored = _stored(kept.week, _job(kept.week, of)) if of else None
    form = _adopted(_rows(replace(read_form(request.form), units=kept.week.units), kept.week), stored)
    asked, button = Asked(form, stored, of, request.form.get("on", "")), request.form.get("do", "put")
    if button not in ("put", "from-plan"):
        buttons = {**LIST_CHANGES, **picking.changes("")}
        return _show(kept, replace(asked, form=_adopted(changed(form, button, buttons), stored)))
    try:
        done = _from_plan(key, asked) if button == "from-plan" else _from_list(key, asked)
    except Problem as problem:
        return _show(weeks.kept_week(key), asked, told(problem, lambda pointer: _field(pointer, asked.pasted)))
    return _show(kept, asked, done) if isinstance(done, dict) else at_week(key, "put", f"job-{done}")


def _job(week: Week, name: str) -> DatedJob:
    found = next((job for job in week.jobs if job.id == name), None)
    if found is None:
        raise not_found(f"{week.name} has no job {name[: limits.ID]}.")
    return found


def _stored(week: Week, job: DatedJob) -> Stored:
    return opened(Job(job.name or job.id, week.units, week.materials, job.required, walls=job.walls))


def _rows(form: ListForm, week: Week) -> ListForm:
    """Return the form with the materials of the week, and those of the catalogue that its list was said to name."""
    own = tuple(material_row(material, str(place), week.units) for place, material in enumerate(week.materials))
    known = {material.id for material in week.materials}
    form = replace(form, materials=own)
    for name, meant in form.same:
        if meant and meant not in known and (entry := picking.known().entries.get(meant)):
            form = picking.with_material(form, entry, name)
    return form


def _adopted(form: ListForm, stored: Stored | None) -> ListForm:
    return picking.adopted(form, read_list(form, stored, {}).strange)


def _from_list(key: WeekKey, asked: Asked) -> str | dict[str, str]:
    """Put the job that a list asks for, and return its name, or what is wrong by field. Raises ``Problem``."""
    pasted, form = asked.pasted, asked.form
    faults = {fault.place: fault.text for fault in (*list_faults(form, pasted), *_particulars(key, asked))}
    if faults:
        return faults
    walls = {wall.id: wall for wall in (asked.stored.job.walls if asked.stored else ())}
    used = dict.fromkeys(item.wall for item in pasted.required if item.wall)
    body = {
        "name": form.job.strip(), "date": asked.on,
        "required": [render_required(item, form.unit) for item in pasted.required],
        "walls": [render_wall(walls[wall], form.unit) if wall in walls else {"id": wall} for wall in used],
    }  # fmt: skip

    def make(before: Week) -> DatedJob:
        return loaded(WeekJobSchema, body, before.units, lambda data: dated_job_of(data, asked.name))

    week_changes.put_job(key, asked.name, make, _brought(form, pasted), believed())
    return asked.name


def _brought(form: ListForm, pasted: Pasted) -> Iterator[Material]:
    """Yield the materials of the catalogue that the list is cut from."""
    used = {item.material for item in pasted.required}
    for row, name in zip(form.materials, form.names, strict=True):
        if row.catalogue and row.adopted and name in used:
            yield picking.material_in(picking.known().entries[row.catalogue], form.unit)


def _particulars(key: WeekKey, asked: Asked) -> Iterator[Fault]:
    if not asked.name:
        yield Fault("job", "What is the job called? It stands so on every sheet.")
    elif not asked.of and any(job.id == asked.name for job in weeks.kept_week(key).week.jobs):
        yield Fault("job", f"The week has a job {asked.name}: change its list there, or call this one otherwise.")
    if not asked.on:
        yield Fault("on", "On which day is it cut?")


def _from_plan(key: WeekKey, asked: Asked) -> str | dict[str, str]:
    """Put the job that a plan was made of, with its materials, and return its name. Raises ``Problem``."""
    number = request.form.get("number", "").strip()
    if not number:
        return {"number": "Which plan? Its number stands at the head of its order."}
    try:
        record = plans.named(number)
        whole, _ = plans.planned(record.id)
    except Problem as problem:
        return {"number": f"{number[: limits.ID]}: {problem.detail}"}
    named = replace(
        asked, form=replace(asked.form, job=asked.form.job.strip() or whole.name or f"plan {record.number}")
    )
    if faults := {fault.place: fault.text for fault in _particulars(key, named)}:
        return faults
    on, used = day_typed(asked.on), {item.material for item in whole.required}
    job = DatedJob(named.name, on, whole.required, named.form.job, whole.walls)
    materials = [material for material in whole.materials if material.id in used]
    week_changes.put_job(key, named.name, lambda _: job, materials, believed())
    return named.name


def _field(pointer: str, pasted: Pasted) -> str:
    """Return the field of the page that a fault is about."""
    item = _ITEM.match(pointer)
    if item and int(item[1]) < len(pasted.at):
        return f"line-{pasted.at[int(item[1])]}"
    return {"#/date": "on", "#/name": "job"}.get(pointer, NOWHERE)


def _show(kept: KeptWeek, asked: Asked, faults: Mapping[str, str] | None = None) -> AnyResponse:
    pasted, form = asked.pasted, asked.form
    on_page = {
        "beyond": beyond_list(pasted, form.unit), "like": {name: picking.known().like(name) for name in pasted.strange},
        "reckoned": reckoned(pasted.account, pasted.required, form.unit) if pasted.account else "",
    }  # fmt: skip
    return page_of(
        "week_job", 422 if faults else 200, **(seen(kept.key) | on_page), asked=asked, form=form, pasted=pasted,
        how=said(pasted), faults=faults or {}, number=request.form.get("number", ""),
        day_options=[(day.isoformat(), day_words(day)) for day in days_of(kept.week)],
    )  # fmt: skip
