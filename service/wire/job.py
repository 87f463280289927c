"""The schema of a whole request, and the way from it to the solver's ``Job``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, validate, validates_schema

from service.problems import FieldError, Problem
from service.wire import limits
from service.wire.base import RequestSchema, field_errors, put, refuse
from service.wire.fields import UNITS, Choice, Companion, Seconds, Text
from service.wire.material import MaterialSchema, OffcutSchema, material_of, offcut_of
from service.wire.required import RequiredSchema, WallSchema, required_of, wall_of
from service.wire.rules import cross_faults
from solver.impossible import find_problems
from solver.job import Job
from solver.lengths import Unit


def _many(schema: type[RequestSchema], least: int, most: int, **settings: Any) -> fields.List[Any]:  # noqa: ANN401
    words = "must have from {min} to {max} entries" if least else "must have {max} entries at most"
    allowed = validate.Length(least, most, error=words)
    return fields.List(fields.Nested(schema), validate=allowed, **settings)


class LimitsSchema(RequestSchema):
    """How long the solving may take, for the whole request."""

    seconds = Seconds()


class JobSchema(RequestSchema):
    """A request for a cut plan."""

    name = Text()
    units = Choice(Unit, required=True)
    materials = _many(MaterialSchema, 1, limits.MATERIALS, required=True)
    walls = _many(WallSchema, 0, limits.WALLS)
    required = _many(RequiredSchema, 1, limits.LINES, required=True)
    offcuts = _many(OffcutSchema, 0, limits.OFFCUTS)
    limits = fields.Nested(LimitsSchema)
    takeoff = Companion()

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _across(self, data: object, original: object, **_: object) -> None:
        del data
        errors: dict[Any, Any] = {}
        if isinstance(original, Mapping):
            for path, message in cross_faults(original):
                put(errors, path, message)
        refuse(errors)


_SCHEMA = JobSchema()


def read_job(body: Mapping[str, Any]) -> Job:
    """Return the job a request asks for. Raises ``Problem`` naming every fault at once."""
    token = UNITS.set(units_of(body))
    try:
        job = _job(_SCHEMA.load(body))
    except ValidationError as error:
        raise _unplannable(list(field_errors(error.messages))) from None
    finally:
        UNITS.reset(token)
    problems = find_problems(job)
    if problems:
        raise _unplannable([FieldError(problem.pointer, problem.detail, problem.code) for problem in problems])
    return job


def _unplannable(errors: list[FieldError]) -> Problem:
    count = "One field needs" if len(errors) == 1 else f"{len(errors)} fields need"
    return Problem("unplannable", f"{count} another look.", errors)


def units_of(body: Mapping[str, Any]) -> Unit:
    """Return the units for reading lengths; where they are wrong, lengths are still looked at, as inches."""
    given = body.get("units")
    return Unit(given) if isinstance(given, str) and given in list(Unit) else Unit.IN


def _job(data: Mapping[str, Any]) -> Job:
    settings = {"seconds": data["limits"]["seconds"]} if data.get("limits") else {}
    return Job(
        data.get("name", ""),
        data["units"],
        tuple(map(material_of, data["materials"])),
        tuple(required_of(item, place) for place, item in enumerate(data["required"], start=1)),
        tuple(map(offcut_of, data.get("offcuts", ()))),
        tuple(map(wall_of, data.get("walls", ()))),
        **settings,
    )
