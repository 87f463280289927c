"""The changes of a crew's week that routes and pages make: each by what a body says, whole or not at all.

Where somebody changed the week meanwhile nothing is done: routes say by ``If-Match`` what they know, pages by the mark
``believed`` that they were shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from service.catalogue import filled
from service.http.problems import not_found
from service.http.waiting import Awaited
from service.racks import refuse_held
from service.week_racks import note_used
from service.weeks import (
    calendar,
    changed,
    keep,
    kept_week,
    refuse_cut,
    refuse_faults,
    refuse_frozen,
    refuse_other_items,
    refuse_past,
    refuse_to_come,
    weeks,
    without_job,
)
from service.wire.job import units_of
from service.wire.materials.material import offcut_of
from service.wire.week import (
    DeliverySchema,
    RackSchema,
    WeekSchema,
    Where,
    in_rack,
    loaded,
    received_of,
    under,
    week_of,
)
from service.wire.week_report import ReportSchema, place_in_report, report_of
from solver.errors import Problem as SolverProblem
from solver.materials import Material
from solver.weekly.problems import find_report_problems, find_week_problems
from solver.weekly.week import DAYS, DatedJob, Delivery, Report, Week
from workers.weeks.record import KeptWeek, WeekKey
from workers.weeks.scheduler import enqueue_asked
from workers.weeks.store import record_name

Body = Mapping[str, Any]


def put_week(key: WeekKey, asked: Body, believed: str | None = None) -> KeptWeek:
    """Begin a week, or change what it is planned with; jobs and reports stay as they are. Raises ``Problem``."""
    body = filled(asked)

    def apply(before: Week | None) -> Week:
        year, number = calendar(key.week)
        after = loaded(WeekSchema, body, units_of(body), lambda data: week_of(data, key.crew, year, number, before))
        refuse_faults(after, before, in_rack(after.own_rack if "rack" in body else (), "rack"))
        if before is None or after.own_rack != before.own_rack:
            refuse_held(after.own_rack, record_name(key), "#/rack")
        return after

    return keep(key, apply, anew=True, believed=believed)


def put_job(
    key: WeekKey,
    name: str,
    make: Callable[[Week], DatedJob],
    materials: Iterable[Material] = (),
    believed: str | None = None,
) -> KeptWeek:
    """Put a job, or another in its place, with materials that the week has not yet. Raises ``Problem``.

    It is refused where it was, or would come to be, on a day whose sheet is frozen.
    """

    def apply(before: Week) -> Week:
        new, known = make(before), {material.id for material in before.materials}
        old = next((other for other in before.jobs if other.id == name), None)
        reported = {report.date for report in before.reports}
        # a job that was not cut in full, by the report of its day, may be moved on
        stuck = [old.date] if old is not None and old != new and old.date not in reported else []
        if old != new and 0 <= before.day(new.date) < DAYS:
            refuse_frozen(before, *stuck, new.date)
        if old is not None:
            refuse_other_items(before, old, new)
        brought = tuple(material for material in materials if material.id not in known)
        jobs = (*without_job(before, name).jobs, new)
        return replace(before, jobs=jobs, materials=(*before.materials, *brought))

    return changed(key, apply, lambda _: under(f"#/jobs/{name}"), believed)


def move_job(key: WeekKey, name: str, to: date, believed: str | None = None) -> KeptWeek:
    """Give a job another day. Raises ``Problem``."""

    def make(before: Week) -> DatedJob:
        return replace(_job(before, name), date=to)

    return put_job(key, name, make, believed=believed)


def withdraw(key: WeekKey, name: str, believed: str | None = None) -> KeptWeek:
    """Take a job out of the week, unless its day's sheet is frozen or some of it is cut. Raises ``Problem``."""

    def apply(before: Week) -> Week:
        refuse_frozen(before, _job(before, name).date)
        refuse_cut(before, name)
        return without_job(before, name)

    return changed(key, apply, believed=believed)


def _job(week: Week, name: str) -> DatedJob:
    found = next((job for job in week.jobs if job.id == name), None)
    if found is None:
        raise not_found(f"{week.name} has no job {name}.")
    return found


def put_delivery(key: WeekKey, on: date, body: Body, believed: str | None = None) -> KeptWeek:
    """Add a delivery, or say what it brought. Raises ``Problem``."""

    def apply(before: Week) -> Week:
        new = loaded(DeliverySchema, body, before.units, lambda data: Delivery(on, received_of(data)))
        others = tuple(other for other in before.deliveries if other.date != on)
        return replace(before, deliveries=tuple(sorted((*others, new), key=lambda delivery: delivery.date)))

    def where(after: Week) -> Where:
        return under(f"#/deliveries/{[delivery.date for delivery in after.deliveries].index(on)}")

    return changed(key, apply, where, believed)


def drop_delivery(key: WeekKey, on: date, believed: str | None = None) -> KeptWeek:
    """Take a delivery back; refused where a job would come before any. Raises ``Problem``."""

    def apply(before: Week) -> Week:
        left = tuple(other for other in before.deliveries if other.date != on)
        if left == before.deliveries:
            raise not_found()
        return replace(before, deliveries=left)

    return changed(key, apply, believed=believed)


def put_rack(key: WeekKey, body: Body) -> KeptWeek:
    """Set what lies on the crew's own rack; reports say what became of it. Raises ``Problem``."""

    def apply(before: Week) -> Week:
        offcuts = loaded(RackSchema, body, before.units, lambda data: tuple(map(offcut_of, data["offcuts"])))
        if offcuts != before.own_rack:
            refuse_held(offcuts, record_name(key), "#/offcuts")
        return replace(before, rack=(*offcuts, *before.held))

    return changed(key, apply, lambda after: in_rack(after.own_rack, "offcuts"))


def put_report(key: WeekKey, on: date, body: Body, believed: str | None = None) -> KeptWeek:
    """Say what was cut, used and kept on a day; a report of the same day takes its place. Raises ``Problem``."""
    plan = kept_week(key).plan
    sheet = next((sheet for sheet in plan.days if sheet.date == on), None) if plan else None
    orders = plan.orders if plan else None

    def apply(before: Week) -> Week:
        new = loaded(ReportSchema, body, before.units, lambda data: report_of(data, before, sheet, on))
        refuse_to_come(before, on)
        reports = sorted((*_others(before, on), new), key=lambda report: report.date)
        return replace(before, reports=tuple(reports))

    def where(after: Week) -> Where:
        new = next(report for report in after.reports if report.date == on)
        return lambda pointer: place_in_report(pointer, body, new)

    def find(week: Week) -> Iterator[SolverProblem]:
        """Yield what is wrong, and what can't have been by what the plan orders."""
        yield from find_week_problems(week)
        yield from find_report_problems(week, orders)

    kept = changed(key, apply, where, believed, find)
    note_used(kept)
    return kept


def drop_report(key: WeekKey, on: date, believed: str | None = None) -> KeptWeek:
    """Take the report of a day back. Raises ``Problem``."""

    def apply(before: Week) -> Week:
        if len(_others(before, on)) == len(before.reports):
            raise not_found()
        return replace(before, reports=_others(before, on))

    kept = changed(key, apply, believed=believed)
    note_used(kept)
    return kept


def _others(week: Week, on: date) -> tuple[Report, ...]:
    return tuple(report for report in week.reports if report.date != on)


def plan_now(key: WeekKey) -> Awaited[KeptWeek]:
    """Have a week planned as it is, ahead of the night; returns what can be waited for. Raises ``Problem``."""
    kept_week(key)
    refuse_past(key)
    version = weeks().ask(key)
    enqueue_asked(weeks(), key)
    return Awaited(kept_week(key), key.digest, lambda: kept_week(key), lambda kept: kept.asked < version)
