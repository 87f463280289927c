"""Schemas of what is measured: walls with their edges and openings, ceilings, eaves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, validate

from service.wire import limits
from service.wire.base import RequestSchema
from service.wire.fields import FOOT, Choice, Count, Flag, LengthField, Text
from service.wire.material import ticks
from service.wire.required import PlaceField
from solver.takeoff.measured import (
    Along,
    Border,
    Ceiling,
    Eave,
    EaveCorner,
    Finish,
    LastPanel,
    Meeting,
    Opening,
    OpeningKind,
    Pockets,
    Point,
    Wall,
    gable,
    rectangle,
)

_PLACE = limits.STRETCH_FEET * FOOT
_POCKET = 2 * FOOT


def many(schema: type[RequestSchema], most: int) -> fields.List[Any]:
    """Return a list field of at most so many."""
    return fields.List(
        fields.Nested(schema), validate=validate.Length(0, most, error="must have {max} entries at most")
    )


class BorderSchema(RequestSchema):
    """What an edge of a wall meets, and how much its trim takes up to the back of the pocket."""

    meets = Choice(Meeting, required=True)
    takes_up = LengthField(most=_POCKET, allow_none=True)
    corner = Text(1, limits.ID, allow_none=True)
    flange = LengthField(most=_POCKET, allow_none=True)


class BorderField(fields.Field[Border]):
    """What an edge meets: a word, or an object that says more."""

    _word = Choice(Meeting)
    _more = BorderSchema()

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> Border:
        if isinstance(value, dict):
            return border_of(self._more.load(value))
        return Border(self._word.deserialize(value, attr, data))


def border_of(data: Mapping[str, Any]) -> Border:
    """Return the border that ``BorderSchema`` loaded."""
    return Border(**{name: ticks(value) for name, value in data.items() if name != "edge"})


class EdgeSchema(BorderSchema):
    """What one edge of an outline meets; edge 0 runs from its first point to its second."""

    edge = Count(0, limits.CORNERS, required=True)


class PocketsSchema(RequestSchema):
    """How much the trim of an opening takes up at each edge."""

    left = LengthField(most=_POCKET)
    right = LengthField(most=_POCKET)
    sill = LengthField(most=_POCKET)
    head = LengthField(most=_POCKET)


class OpeningSchema(RequestSchema):
    """An opening, measured outside of its casing or frame, from the wall's zero."""

    id = Text(1, limits.ID, required=True)
    kind = Choice(OpeningKind, required=True)
    left = LengthField(least=-_PLACE, required=True, data_key="from")
    bottom = LengthField(least=-_PLACE, required=True)
    width = LengthField(required=True)
    height = LengthField(required=True)
    takes_up = fields.Nested(PocketsSchema)
    rises = LengthField(least=-_POCKET, most=_POCKET)
    own_channel = Flag()


class WallSchema(RequestSchema):
    """A wall: width, height at its ends and peak if it has a gable, or its outline; its edges; its openings."""

    id = Text(1, limits.ID, required=True)
    width = LengthField(least=1)
    height = LengthField()
    peak = LengthField(least=1)
    outline = fields.List(
        fields.List(LengthField(least=-_PLACE), validate=validate.Length(equal=2, error="must be [along, up]")),
        validate=validate.Length(3, limits.CORNERS, error="must have from {min} to {max} points"),
    )
    left = BorderField(required=True)
    right = BorderField(required=True)
    bottom = BorderField()
    top = BorderField()
    rake = BorderField()
    step = BorderField()
    edges = many(EdgeSchema, limits.CORNERS)
    openings = many(OpeningSchema, limits.OPENINGS)
    elevation = LengthField(least=-_PLACE)
    finish = Choice(Finish)
    viewed_from = PlaceField(allow_none=True)
    grade = LengthField(least=-_PLACE, allow_none=True)


class CeilingSchema(RequestSchema):
    """A soffit ceiling, between the walls and beams that its channels are nailed to."""

    id = Text(1, limits.ID, required=True)
    length = LengthField(least=1, required=True)
    width = LengthField(least=1, required=True)
    panels = Choice(Along)
    last = Choice(LastPanel)
    takes_up = LengthField(most=_POCKET)
    divider = LengthField(most=_POCKET)
    nailers = Count(0, limits.COURSES)


class EaveSchema(RequestSchema):
    """An eave: its length along the wall, its overhang from the wall to the subfascia, its corners."""

    id = Text(1, limits.ID, required=True)
    length = LengthField(least=1, required=True)
    overhang = LengthField(least=1, required=True)
    left = Choice(EaveCorner)
    right = Choice(EaveCorner)
    fascia = Flag()


def wall_of(data: Mapping[str, Any], place: int) -> Wall:
    """Return the wall that ``WallSchema`` loaded. Raises ``ValidationError`` where it has no outline or two."""
    plain = {name: ticks(value) for name, value in data.items() if name not in _SIZES}
    plain["outline"] = _outline(data, place)
    plain["openings"] = tuple(map(_opening_of, data.get("openings", ())))
    plain["edges"] = {entry["edge"]: border_of(entry) for entry in data.get("edges", ())}
    return Wall(**plain)


_SIZES = ("width", "height", "peak", "outline")


def _outline(data: Mapping[str, Any], place: int) -> tuple[Point, ...]:
    sizes = {name: ticks(data[name]) for name in _SIZES if name in data}
    match sizes:
        case {"outline": points, **others} if not others:
            return tuple(Point(x.ticks, y.ticks) for x, y in points)
        case {"width": width, "height": height, "peak": peak, **others} if not others and peak > height:
            return gable(width, height, peak)
        case {"width": width, "height": height, **others} if not others:
            return rectangle(width, height)
    words = f"wall {data['id']} needs width and height (and a peak above that height for a gable), or an outline"
    raise ValidationError({"walls": {place: [words]}})


def _opening_of(data: Mapping[str, Any]) -> Opening:
    plain = {name: ticks(value) for name, value in data.items()}
    plain["takes_up"] = Pockets(**{name: pocket.ticks for name, pocket in data.get("takes_up", {}).items()})
    plain.setdefault("own_channel", data["kind"] is OpeningKind.FIXTURE)
    return Opening(**plain)


def ceiling_of(data: Mapping[str, Any]) -> Ceiling:
    """Return the ceiling that ``CeilingSchema`` loaded."""
    return Ceiling(**{name: ticks(value) for name, value in data.items()})


def eave_of(data: Mapping[str, Any]) -> Eave:
    """Return the eave that ``EaveSchema`` loaded."""
    return Eave(**{name: ticks(value) for name, value in data.items()})
