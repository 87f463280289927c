"""``/weeks/{crew}/{week}/days/{day}``: the evening's report on a phone: as on the sheet, or except what stands here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import request
from werkzeug.wrappers import Response as AnyResponse

from service import week_changes, weeks
from service.counter.pages import blueprint, page_of
from service.counter.week.shared import NOWHERE, at_week, day_words, told
from service.http.problems import Problem, not_found
from service.views.facts import called
from solver.lengths import say
from solver.weekly.moment import moment_of
from solver.weekly.plan import DayPlan
from solver.weekly.week import Report, Week
from workers.weeks.record import KeptWeek, WeekKey


@dataclass(frozen=True, slots=True)
class Row:
    """Something on the sheet: its field, what it is in words, how much of it is planned, and what was reported."""

    field: str
    words: str
    planned: int
    now: int
    of: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A day's sheet as it is reported: pieces, whole sticks, offcuts brought and offcuts kept."""

    pieces: tuple[Row, ...]
    sticks: tuple[Row, ...]
    used: tuple[Row, ...]
    kept: tuple[Row, ...]

    @classmethod
    def of(cls, week: Week, day: DayPlan) -> Sheet:
        """Return a day's sheet, with what was reported of it, if anything was."""
        planned = day.as_planned()
        said = next((report for report in week.reports if report.date == day.date), planned)
        return cls(
            tuple(_pieces(week, planned, said)), tuple(_sticks(week, planned, said)),
            tuple(_used(week, day, planned, said)), tuple(_kept(week, planned, said)),
        )  # fmt: skip


def _pieces(week: Week, planned: Report, said: Report) -> Iterator[Row]:
    jobs = {job.id: job for job in week.jobs}
    cut = {(done.job, done.item): done.quantity for done in said.done}
    for place, done in enumerate(planned.done):
        job = jobs.get(done.job)
        item = job.required[done.item] if job and done.item < len(job.required) else None
        mark = item.mark or f"item {done.item + 1}" if item else f"item {done.item + 1}"
        words = f"{mark}, {job.name or done.job if job else done.job}"
        yield Row(f"piece-{place}", words, done.quantity, done.quantity - cut.get((done.job, done.item), 0),
                  (done.job, done.item))  # fmt: skip


def _sticks(week: Week, planned: Report, said: Report) -> Iterator[Row]:
    names = {(m.id, row.id): f"{say(row.length, week.units)} {called(m)}" for m in week.materials for row in m.stock}
    used = {(one.material, one.stock): one.count for one in said.sticks}
    expected = {(one.material, one.stock): one.count for one in planned.sticks}
    for place, stock in enumerate(dict.fromkeys((*expected, *used))):
        yield Row(f"stick-{place}", names.get(stock, stock[1]), expected.get(stock, 0), used.get(stock, 0), stock)


def _used(week: Week, day: DayPlan, planned: Report, said: Report) -> Iterator[Row]:
    brought = {offcut.id: offcut for offcut in day.job.offcuts}
    for place, label in enumerate(planned.used):
        offcut = brought[label]
        words = f"{label}, {say(offcut.length, week.units)} {offcut.material}"
        yield Row(f"used-{place}", words, 1, int(label in said.used), (label,))


def _kept(week: Week, planned: Report, said: Report) -> Iterator[Row]:
    there = {kept.offcut.id for kept in said.kept}
    for place, kept in enumerate(planned.kept):
        offcut = kept.offcut
        words = f"{offcut.id}, {say(offcut.length, week.units)} {offcut.material}"
        yield Row(f"kept-{place}", words, 1, int(offcut.id in there), (kept,))


@blueprint.get("/weeks/<crew>/<week>/days/<day>")
def week_report(crew: str, week: str, day: str) -> AnyResponse:
    """Show what is on a day's sheet, to be reported."""
    return _page(weeks.kept_week(weeks.week_key(crew, week)), weeks.day_of(day), {})


@blueprint.post("/weeks/<crew>/<week>/days/<day>")
def week_put_report(crew: str, week: str, day: str) -> AnyResponse:
    """Keep the report: as on the sheet, or with what was otherwise."""
    key, on = weeks.week_key(crew, week), weeks.day_of(day)
    kept = weeks.kept_week(key)
    try:
        _refuse_another(kept)
        if request.form.get("do") == "take-back":
            week_changes.drop_report(key, on, weeks.mark_of(kept))
            return at_week(key, "taken-back", on.isoformat())
        return _keep(key, kept, on)
    except Problem as problem:
        return _page(weeks.kept_week(key), on, told(problem, lambda pointer: _field(pointer, kept, on)))


def _refuse_another(kept: KeptWeek) -> None:
    """Refuse a report of a sheet that is another by now. Raises ``Problem``."""
    if request.form.get("sheet", "") != weeks.sheets_tag(kept):
        raise Problem("changed", weeks.CHANGED)


def _keep(key: WeekKey, kept: KeptWeek, on: date) -> AnyResponse:
    body: dict[str, Any] = {"as_planned": True}
    if request.form.get("do") == "except":
        sheet = Sheet.of(kept.week, _sheet(kept, on))
        faults = {
            row.field: f"{row.words}: how many? Write a whole number up to {most}."
            for row, most in [*((row, row.planned) for row in sheet.pieces), *((row, 999_999) for row in sheet.sticks)]
            if (count := _count(row)) is None or count > most
        }
        if faults:
            return _page(kept, on, faults)
        body |= _otherwise(sheet)
    week_changes.put_report(key, on, body, weeks.mark_of(kept))
    return at_week(key, "reported", on.isoformat())


def _count(row: Row) -> int | None:
    text = request.form.get(row.field, "").strip() or "0"
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 12 else None


def _otherwise(sheet: Sheet) -> dict[str, Any]:
    """Return what was otherwise than on the sheet."""
    missed = [(row.of, count) for row in sheet.pieces if (count := _count(row))]
    sticks = [(row.of, count) for row in sheet.sticks if (count := _count(row))]
    offcuts = [
        (row.of[0], request.form.get(f"{row.field}-length", "")) for row in sheet.kept if row.field in request.form
    ]
    return {
        "not_done": [{"job": job, "item": item, "quantity": count} for (job, item), count in missed],
        "sticks": [{"material": material, "stock": stock, "count": count} for (material, stock), count in sticks],
        "used": [row.of[0] for row in sheet.used if row.field in request.form],
        "kept": [
            {"id": one.offcut.id, "material": one.offcut.material, "length": length,
             "factory_end": one.offcut.factory_end, "in_van": one.in_van}
            for one, length in offcuts
        ],
    }  # fmt: skip


def _sheet(kept: KeptWeek, on: date) -> DayPlan:
    days = kept.plan.days if kept.plan else ()
    found = next((day for day in days if day.date == on), None)
    if found is None:
        raise not_found(f"Nothing is cut on {on.isoformat()}; plan the week first.")
    return found


def _field(pointer: str, kept: KeptWeek, on: date) -> str:
    """Return the field of the page that a fault is about, by its place in what ``_otherwise`` makes of them."""
    sheet, (_, name, place, *_) = Sheet.of(kept.week, _sheet(kept, on)), f"{pointer}//".split("/")
    rows = {
        "sticks": [row for row in sheet.sticks if _count(row)],
        "kept": [row for row in sheet.kept if row.field in request.form],
    }.get(name, [])
    return rows[int(place)].field if place.isdecimal() and int(place) < len(rows) else NOWHERE


def _page(kept: KeptWeek, on: date, faults: Mapping[str, str]) -> AnyResponse:
    week, day = kept.week, _sheet(kept, on)
    reported = any(report.date == on for report in week.reports)
    lengths = {row.field: _length(week, row) for row in Sheet.of(week, day).kept}
    return page_of("week_report", 422 if faults else 200, week=week, on=on, said=day_words(on), reported=reported,
                   to_come=on > moment_of(week, weeks.now()).today, sheet=Sheet.of(week, day),
                   tag=weeks.sheets_tag(kept), faults=faults, lengths=lengths)  # fmt: skip


def _length(week: Week, row: Row) -> str:
    """Return how long an offcut was kept, as reported or as planned."""
    label = row.of[0].offcut.id
    kept = [one.offcut for report in week.reports for one in report.kept if one.offcut.id == label]
    return say((kept or [row.of[0].offcut])[0].length, week.units)
