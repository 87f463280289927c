"""Schemas of a crew's week and its parts, and the way from them to the solver's ``Week``."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, time
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from marshmallow import ValidationError, fields, validate

from service.problems import FieldError, Problem
from service.wire import limits
from service.wire.base import RequestSchema, field_errors
from service.wire.fields import FOOT, UNITS, Choice, Count, Flag, LengthField, Text
from service.wire.material import MaterialSchema, OffcutSchema, material_of, offcut_of, ticks
from service.wire.required import RequiredSchema, WallSchema, required_of, wall_of
from solver.errors import Problem as SolverProblem
from solver.lengths import Unit
from solver.weekly.week import DatedJob, Delivery, Done, Kept, Report, Sticks, Week, WeekLimits

DELIVERIES = 14
Made = TypeVar("Made")


class DateField(fields.Field[date]):
    """A date as ISO 8601 writes it, ``2026-11-23``."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> date:
        del attr, data
        found = date_of(value)
        if found is None:
            raise ValidationError('must be a date, as in "2026-11-23"')
        return found


class HourField(fields.Field[time]):
    """A time of day, ``05:00``."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> time:
        del attr, data
        try:
            found = time.fromisoformat(value if isinstance(value, str) and len(value) == 5 else "")
        except ValueError:
            raise ValidationError('must be a time of day, as in "05:00"') from None
        return found


class ZoneField(fields.Field[str]):
    """A time zone by its name, ``America/Chicago``."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> str:
        del attr, data
        try:
            return ZoneInfo(value if isinstance(value, str) else "").key
        except (KeyError, ValueError, OSError):
            raise ValidationError('must be a time zone, as in "America/Chicago"') from None


def date_of(value: object) -> date | None:
    """Return the date an ISO text stands for, or None."""
    try:
        return date.fromisoformat(value) if isinstance(value, str) and len(value) == 10 else None
    except ValueError:
        return None


def _many(schema: type[RequestSchema], least: int, most: int, **settings: Any) -> fields.List[Any]:  # noqa: ANN401
    words = "must have from {min} to {max} entries" if least else "must have {max} entries at most"
    return fields.List(fields.Nested(schema), validate=validate.Length(least, most, error=words), **settings)


class WeekLimitsSchema(RequestSchema):
    """How many offcuts the van carries overnight, the shortest kept, and until when a day's sheet may change."""

    carry = Count(0, 10_000, allow_none=True)
    shortest_kept = LengthField(least=1, most=limits.STICK_FEET * FOOT, allow_none=True)
    freeze_at = HourField()
    freeze_days = Count(0, 6)
    timezone = ZoneField()


class SticksSchema(RequestSchema):
    """So many whole sticks of one stock length."""

    material = Text(1, limits.ID, required=True)
    stock = Text(1, limits.ID, required=True)
    count = Count(1, limits.STICKS_AT_HAND, required=True)


class DeliveryDateSchema(RequestSchema):
    """A day on which sticks can come."""

    date = DateField(required=True)
    received = _many(SticksSchema, 0, limits.STOCK_ROWS, allow_none=True)


class WeekSchema(RequestSchema):
    """What a crew's week is planned with; its jobs and reports are put by themselves."""

    units = Choice(Unit, required=True)
    materials = _many(MaterialSchema, 1, limits.MATERIALS, required=True)
    deliveries = _many(DeliveryDateSchema, 0, DELIVERIES)
    rack = _many(OffcutSchema, 0, limits.OFFCUTS)
    limits = fields.Nested(WeekLimitsSchema)


class WeekJobSchema(RequestSchema):
    """One job of the week, cut on its date."""

    date = DateField(required=True)
    name = Text()
    required = _many(RequiredSchema, 1, limits.LINES, required=True)
    walls = _many(WallSchema, 0, limits.WALLS)


class DeliverySchema(RequestSchema):
    """What a delivery brought; null as long as nobody knows."""

    received = _many(SticksSchema, 0, limits.STOCK_ROWS, allow_none=True)


class RackSchema(RequestSchema):
    """The offcuts on the rack in the shop."""

    offcuts = _many(OffcutSchema, 0, limits.OFFCUTS, required=True)


class DoneSchema(RequestSchema):
    """So many pieces of one item of a job that were cut; items count from 0."""

    job = Text(1, limits.ID, required=True)
    item = Count(0, limits.LINES, required=True)
    quantity = Count(1, limits.PIECES, required=True)


class KeptSchema(OffcutSchema):
    """An offcut that was kept, in the van to be carried on or on the rack in the shop."""

    in_van = Flag()


class ReportSchema(RequestSchema):
    """What was really cut on a day: pieces done, whole sticks and offcuts used, offcuts kept."""

    done = _many(DoneSchema, 0, limits.LINES)
    sticks = _many(SticksSchema, 0, limits.STOCK_ROWS)
    used = fields.List(Text(1, limits.ID), validate=validate.Length(0, limits.OFFCUTS))
    kept = _many(KeptSchema, 0, limits.OFFCUTS)


def loaded(schema: type[RequestSchema], body: Mapping[str, Any], units: Unit, make: Callable[[Any], Made]) -> Made:
    """Return what a body says. Raises ``Problem`` naming every fault at once."""
    token = UNITS.set(units)
    try:
        return make(schema().load(body))
    except ValidationError as error:
        raise refused(list(field_errors(error.messages))) from None
    finally:
        UNITS.reset(token)


def refused(errors: Sequence[FieldError]) -> Problem:
    """Return the problem of a body with these faults."""
    count = "One field needs" if len(errors) == 1 else f"{len(errors)} fields need"
    return Problem("unplannable", f"{count} another look.", errors)


def told(problems: Sequence[SolverProblem], prefix: str) -> Iterator[FieldError]:
    """Yield the solver's problems as faults of a body that stands for what is under ``prefix``."""
    for problem in problems:
        pointer = "#" + problem.pointer.removeprefix(prefix) if problem.pointer.startswith(prefix) else problem.pointer
        yield FieldError(pointer, problem.detail, problem.code)


def week_of(data: Mapping[str, Any], crew: str, year: int, number: int, before: Week | None) -> Week:
    """Return the week that ``WeekSchema`` loaded, with the jobs and reports of the week before the change."""
    return Week(
        crew, year, number, data["units"], tuple(map(material_of, data["materials"])),
        before.jobs if before else (),
        tuple(Delivery(entry["date"], received_of(entry)) for entry in data.get("deliveries", ())),
        tuple(map(offcut_of, data.get("rack", ()))),
        WeekLimits(**{name: ticks(value) for name, value in (data.get("limits") or {}).items()}),
        before.reports if before else (),
    )  # fmt: skip


def received_of(data: Mapping[str, Any]) -> tuple[Sticks, ...] | None:
    """Return what a delivery brought, None where nobody said."""
    received = data.get("received")
    return None if received is None else tuple(Sticks(**entry) for entry in received)


def dated_job_of(data: Mapping[str, Any], job: str) -> DatedJob:
    """Return the job that ``WeekJobSchema`` loaded."""
    required = tuple(required_of(item, place) for place, item in enumerate(data["required"], start=1))
    return DatedJob(job, data["date"], required, data.get("name", ""), tuple(map(wall_of, data.get("walls", ()))))


def report_of(data: Mapping[str, Any], day: date) -> Report:
    """Return the report that ``ReportSchema`` loaded."""
    return Report(
        day,
        tuple(Done(**entry) for entry in data.get("done", ())),
        tuple(Sticks(**entry) for entry in data.get("sticks", ())),
        tuple(data.get("used", ())),
        tuple(_kept(entry) for entry in data.get("kept", ())),
    )


def _kept(data: Mapping[str, Any]) -> Kept:
    offcut = {name: value for name, value in data.items() if name != "in_van"}
    return Kept(offcut_of(offcut), data.get("in_van", True))
