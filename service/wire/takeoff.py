"""The schema of a take-off, and the way from it to the solver's ``House``."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from marshmallow import ValidationError, fields, validate

from service.problems import FieldError, Problem
from service.wire import limits
from service.wire.base import RequestSchema, field_errors
from service.wire.fields import FOOT, UNITS, Amount, Choice, Count, Flag, LengthField, Text
from service.wire.job import LimitsSchema, units_of
from service.wire.material import MaterialSchema, OffcutSchema, material_of, ticks
from service.wire.measured import CeilingSchema, EaveSchema, WallSchema, ceiling_of, eave_of, many, wall_of
from solver.errors import Unplannable
from solver.lengths import Unit
from solver.takeoff import House, TakeOff, take_off
from solver.takeoff.measured import Role
from solver.takeoff.rules import Corners, Deduct, GableRule, Settings, Waste

_PLACE = limits.STRETCH_FEET * FOOT
_ALLOWANCE = 10 * FOOT


class UsesSchema(RequestSchema):
    """Which material serves for what; a role without one is listed and not planned."""

    panel = Text(1, limits.ID)
    starter = Text(1, limits.ID)
    channel = Text(1, limits.ID)
    utility = Text(1, limits.ID)
    outside_post = Text(1, limits.ID)
    inside_post = Text(1, limits.ID)
    drip_cap = Text(1, limits.ID)
    closure = Text(1, limits.ID)
    soffit = Text(1, limits.ID)
    soffit_vented = Text(1, limits.ID)
    soffit_channel = Text(1, limits.ID)
    fascia = Text(1, limits.ID)


class SettingsSchema(RequestSchema):
    """Clearances, spacings and policies; what is left out takes the trade's rule, which the answer names."""

    cut_out_clearance = LengthField(most=_ALLOWANCE)
    height_clearance = LengthField(most=_ALLOWANCE)
    sliver = LengthField(most=_ALLOWANCE)
    keep_clear = Count(0, limits.COURSES)
    corners = Choice(Corners)
    above_floor = LengthField(most=_ALLOWANCE)
    above_grade = LengthField(most=_ALLOWANCE)
    nail_spacing = LengthField(least=FOOT // 12, most=_ALLOWANCE)
    trim_nail_spacing = LengthField(least=FOOT // 12, most=_ALLOWANCE)
    soffit_span = LengthField(least=FOOT // 12, most=_PLACE)
    eave_gap = LengthField(most=_ALLOWANCE)
    warmer_by = Amount(200, 4, allow_none=True)
    expansion = Count(1, 1_000)
    vented = Amount(1, 6)
    deduct = Choice(Deduct)
    large = Count(0, 10_000)
    gable = Choice(GableRule)
    waste = Choice(Waste)
    waste_percent = Amount(90, 4)
    temperature = Count(-100, 150, allow_none=True)
    cold = Flag(allow_none=True)


class TakeOffSchema(RequestSchema):
    """What was measured of a house, the materials for it, and which serves for what."""

    name = Text()
    units = Choice(Unit, required=True)
    materials = fields.List(
        fields.Nested(MaterialSchema),
        required=True,
        validate=validate.Length(1, limits.MATERIALS, error="must have from {min} to {max} entries"),
    )
    uses = fields.Nested(UsesSchema, required=True)
    exposure = LengthField(most=_ALLOWANCE)
    hem = LengthField(most=_ALLOWANCE)
    face = LengthField(most=_ALLOWANCE, allow_none=True)
    coverage = LengthField(most=_ALLOWANCE, allow_none=True)
    course_line = LengthField(least=-_PLACE)
    walls = many(WallSchema, limits.MEASURED_WALLS)
    ceilings = many(CeilingSchema, limits.MEASURED_WALLS)
    eaves = many(EaveSchema, limits.MEASURED_WALLS)
    offcuts = many(OffcutSchema, limits.OFFCUTS)
    limits = fields.Nested(LimitsSchema)
    settings = fields.Nested(SettingsSchema)


_SCHEMA = TakeOffSchema()


def read_take_off(body: Mapping[str, Any]) -> TakeOff:
    """Return the take-off of what a request measured. Raises ``Problem`` naming every fault at once."""
    token = UNITS.set(units_of(body))
    try:
        data = _SCHEMA.load(body)
        return take_off(_house(data))
    except ValidationError as error:
        raise _problem(list(field_errors(error.messages))) from None
    except Unplannable as error:
        raise _problem([FieldError(p.pointer, p.detail, p.code) for p in error.problems]) from None
    finally:
        UNITS.reset(token)


def _problem(errors: list[FieldError]) -> Problem:
    return Problem("unplannable", "What was measured can't be taken off.", errors)


def _house(data: Mapping[str, Any]) -> House:
    plain = {name: ticks(data[name]) for name in ("hem", "face", "coverage", "course_line") if name in data}
    return House(
        data.get("name", ""),
        data["units"],
        ticks(data.get("exposure", 0)),
        tuple(wall_of(wall, place) for place, wall in enumerate(data.get("walls", ()))),
        tuple(map(ceiling_of, data.get("ceilings", ()))),
        tuple(map(eave_of, data.get("eaves", ()))),
        materials=tuple(map(material_of, data["materials"])),
        uses={Role(role): name for role, name in data["uses"].items()},
        settings=_settings(data.get("settings", {})),
        **plain,
    )


_FRACTIONS = ("warmer_by", "vented", "waste_percent", "temperature")


def _settings(data: Mapping[str, Any]) -> Settings:
    plain = {name: ticks(value) for name, value in data.items()}
    exact = {name: Fraction(plain[name]) for name in _FRACTIONS if plain.get(name) is not None}
    return Settings(**plain | exact)
