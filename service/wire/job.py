"""The schema of a whole request, and the way from it to the solver's ``Job``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.problems import FieldError, refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors, put, refuse
from service.wire.fields import Choice, Companion, Described, Many, One, Text
from service.wire.lengths import in_units
from service.wire.material import MaterialSchema, OffcutSchema, material_of, offcut_of
from service.wire.numbers import Seconds
from service.wire.required import RequiredSchema, WallSchema, required_of, wall_of
from service.wire.rules import cross_faults
from solver.job import Job
from solver.lengths import Unit
from solver.validation import find_problems

UNITS_ABOUT = (
    "What a number means that stands for a length: `in`, `ft`, `mm`, `cm` or `m`. Text may say its own. Answers are in "
    "the same units."
)


class LimitsSchema(WireSchema):
    """How long the planning may take."""

    seconds = Seconds("Seconds of planning for the whole request; the best plan by then is answered.", default=10)


class JobSchema(WireSchema):
    """A request for a cut plan: what is wanted, and what it may be cut from."""

    name = Text("What the job is called on sheets.", default="")
    units = Choice(UNITS_ABOUT, Unit, required=True)
    materials = Many("What is bought and cut.", MaterialSchema, 1, limits.MATERIALS, required=True)
    walls = Many("The walls that items are on.", WallSchema, 0, limits.WALLS, default=[])
    required = Many(
        f"What is wanted; at most {limits.PIECES} pieces in all. Answers refer to an item by its place here, from 0. "
        "A long list may meet the limit of the body before that of its lines.",
        RequiredSchema, 1, limits.LINES, required=True,
    )  # fmt: skip
    takeoff: Described = Companion("What a take-off said beside its items; it is not looked at.", load_only=True)
    offcuts = Many(
        f"Left-over lengths on hand, used before new sticks where that costs less; at most {limits.PIECES} in all.",
        OffcutSchema, 0, limits.OFFCUTS, default=[],
    )  # fmt: skip
    limits = One("What the planning may take.", LimitsSchema, of=lambda job: job)

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
    try:
        with in_units(units_of(body)):
            job = _job(_SCHEMA.load(body))
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    problems = find_problems(job)
    if problems:
        raise refused([FieldError(problem.pointer, problem.detail, problem.code) for problem in problems])
    return job


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
