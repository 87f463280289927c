"""Schemas of what is wanted: pieces and runs, their ends, and the walls they are on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from marshmallow import ValidationError, fields, validate, validates_schema

from service.wire import limits
from service.wire.base import RequestSchema
from service.wire.fields import FOOT, Choice, Count, LengthField, Text
from service.wire.material import ticks
from solver.job import Wall
from solver.lengths import Length
from solver.required import CutOut, Edge, End, KeepClear, Meets, Required, Side, Slope

_PLACE = limits.STRETCH_FEET * FOOT
_PITCH = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)\s*/\s*(\d{1,3}(?:\.\d{1,3})?)")
_MARKS = validate.Length(0, limits.MARKS_ON_WALL, error="must have {max} entries at most")


class PitchField(fields.Field[Fraction]):
    """A pitch written as rise over run, ``6/12``."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> Fraction:
        del attr, data
        match = _PITCH.fullmatch(value.strip()) if isinstance(value, str) else None
        if match is None or not Fraction(match[2]) or not Fraction(match[1]):
            raise ValidationError('must be rise over run, as in "6/12"')
        return Fraction(match[1]) / Fraction(match[2])


class SlopedEndSchema(RequestSchema):
    """A sloped end: what it meets, its pitch, the way it leans, and which edge of the panel is the longer."""

    meets = Choice(Meets, required=True)
    pitch = PitchField(required=True)
    leans = Choice(Side, required=True)
    long_edge = Choice(Edge, required=True)


class EndField(fields.Field[End]):
    """What an end meets: a word, or an object for a sloped end."""

    _word = Choice(Meets)
    _sloped = SlopedEndSchema()

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> End:
        if not isinstance(value, dict):
            return End(self._word.deserialize(value, attr, data))
        sloped = self._sloped.load(value)
        if sloped["long_edge"] is Edge.HOLE:
            raise ValidationError({"long_edge": ["must be one of: top, bottom"]})
        return End(sloped["meets"], Slope(sloped["pitch"], sloped["leans"], sloped["long_edge"]))


class PlaceField(fields.Field[Side | Length]):
    """Where a wall is seen from: a side, or a position along it."""

    _length = LengthField(least=-_PLACE)

    def _deserialize(
        self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object
    ) -> Side | Length:
        if isinstance(value, str) and value in list(Side):
            return Side(value)
        try:
            return self._length.deserialize(value, attr, data)
        except ValidationError:
            raise ValidationError("must be left, right, a position along the wall, or null") from None


class WallSchema(RequestSchema):
    """A wall; laps on it face away from where it is seen."""

    id = Text(1, limits.ID, required=True)
    viewed_from = PlaceField(allow_none=True)


class KeepClearSchema(RequestSchema):
    """A stretch of a wall where courses ``first`` to ``last`` may have no lap."""

    start = LengthField(least=-_PLACE, required=True, data_key="from")
    end = LengthField(least=-_PLACE, required=True, data_key="to")
    first = Count(1, limits.COURSES, required=True)
    last = Count(1, limits.COURSES, required=True)

    @validates_schema
    def _order(self, data: Mapping[str, Any], **_: object) -> None:
        _ascending(data)
        if data["last"] < data["first"]:
            raise ValidationError("must not be before first", "last")


class CutOutSchema(RequestSchema):
    """What is taken out of a panel, between two places along the wall."""

    start = LengthField(least=-_PLACE, required=True, data_key="from")
    end = LengthField(least=-_PLACE, required=True, data_key="to")
    edge = Choice(Edge, required=True)
    height = LengthField(least=1, required=True)
    course = Count(1, limits.COURSES, allow_none=True)

    @validates_schema
    def _order(self, data: Mapping[str, Any], **_: object) -> None:
        _ascending(data)


class RequiredSchema(RequestSchema):
    """So many alike of one stretch of one material, on a wall or not."""

    mark = Text(0, 40)
    ref = Text(allow_none=True)
    material = Text(1, limits.ID, required=True)
    length = LengthField(least=1, required=True)
    quantity = Count(1, limits.QUANTITY)
    left_end = EndField()
    right_end = EndField()
    room = LengthField()
    wall = Text(1, limits.ID, allow_none=True)
    start = LengthField(least=-_PLACE)
    first_course = Count(1, limits.COURSES, allow_none=True)
    courses = Count(1, limits.COURSES)
    keep_clear = fields.List(fields.Nested(KeepClearSchema), validate=_MARKS)
    cut_outs = fields.List(fields.Nested(CutOutSchema), validate=_MARKS)

    @validates_schema
    def _needs_wall(self, data: Mapping[str, Any], **_: object) -> None:
        if data.get("keep_clear") and not data.get("wall"):
            raise ValidationError("needs a wall to be on", "keep_clear")


def required_of(data: Mapping[str, Any], place: int) -> Required:
    """Return the item that ``RequiredSchema`` loaded; without a mark it is called by its place from 1."""
    plain = {name: ticks(value) for name, value in data.items()}
    plain["mark"] = data.get("mark") or str(place)
    plain["keep_clear"] = tuple(KeepClear(**_plain(entry)) for entry in data.get("keep_clear", ()))
    plain["cut_outs"] = tuple(CutOut(**_plain(entry)) for entry in data.get("cut_outs", ()))
    return Required(**plain)


def wall_of(data: Mapping[str, Any]) -> Wall:
    """Return the wall that ``WallSchema`` loaded."""
    return Wall(data["id"], ticks(data.get("viewed_from")))


def _plain(data: Mapping[str, Any]) -> dict[str, Any]:
    return {name: ticks(value) for name, value in data.items()}


def _ascending(data: Mapping[str, Any]) -> None:
    if data["end"].ticks <= data["start"].ticks:
        raise ValidationError("must be beyond from", "to")
