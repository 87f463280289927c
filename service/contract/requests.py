"""JSON Schemas of request bodies, made from their marshmallow schemas."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from marshmallow import Schema, fields
from marshmallow.validate import Length as LengthValidator

from service.wire import limits
from service.wire.cut_list import AnswersField, PastedText
from service.wire.fields import Amount, Choice, Companion, Count, Flag, LengthField, Seconds, Text
from service.wire.measured import BorderField, BorderSchema
from service.wire.plan import PlanPartSchema, SidesField
from service.wire.required import EndField, PitchField, PlaceField, SlopedEndSchema
from service.wire.week import DateField, HourField, ZoneField
from solver.cutlist import ANSWERS
from solver.required import Meets, Side
from solver.takeoff.measured import Meeting
from solver.ticks import LONGEST_TEXT

Json = dict[str, Any]
LENGTH: Json = {
    "description": "A number of the request's units, or text such as 9' 7\", 142 3/8 or 3510 mm. Kept in whole parts "
    "of 1/8128 in (320 of them are a millimetre). What is finer goes to the nearest part, for stock and offcuts to the "
    "one below, for kerf to the one above: no saw or tape shows that, and no warning speaks of it.",
    "type": ["number", "string"],
    "maxLength": LONGEST_TEXT,
}


def component_name(schema: type[Schema]) -> str:
    """Return what a schema is called among the components."""
    return schema.__name__.removesuffix("Schema") + "Request"


def request_components(schemas: Iterable[type[Schema]]) -> Json:
    """Return the components of these schemas and of all they nest."""
    made: Json = {}
    for schema in schemas:
        _add(schema, made)
    return made


def _add(schema: type[Schema], made: Json) -> Json:
    name = component_name(schema)
    if name not in made:
        made[name] = {}
        described = schema().fields
        properties = {f.data_key or key: _field(f, made) for key, f in described.items()}
        made[name] = {
            "type": "object",
            "description": (schema.__doc__ or "").strip().splitlines()[0],
            "properties": properties,
            "required": [f.data_key or key for key, f in described.items() if f.required],
            "additionalProperties": issubclass(schema, PlanPartSchema),
        }
    return {"$ref": f"#/components/schemas/{name}"}


def _field(field: fields.Field[Any], made: Json) -> Json:
    described = _described(field, made)
    return {"anyOf": [described, {"type": "null"}]} if field.allow_none else described


def _described(field: fields.Field[Any], made: Json) -> Json:
    match field:
        case fields.Nested():
            return _add(type(field.schema), made)
        case fields.List():
            return {"type": "array", "items": _field(field.inner, made), **_size(field)}
        case EndField():
            return {"anyOf": [{"enum": [*Meets]}, _add(SlopedEndSchema, made)]}
        case BorderField():
            return {"anyOf": [{"enum": [*Meeting]}, _add(BorderSchema, made)]}
        case PlaceField():
            return {"anyOf": [{"enum": [*Side]}, LENGTH]}
        case _:
            return _plain(field)


def _plain(field: fields.Field[Any]) -> Json:
    for kind, describe in _PLAIN.items():
        if isinstance(field, kind):
            return describe(field)
    raise TypeError(f"no JSON Schema for {type(field).__name__}")


_ANSWERS: Json = {notation: {"enum": [*answers]} for notation, answers in ANSWERS.items()}
_PLAIN: dict[type[fields.Field[Any]], Callable[[Any], Json]] = {
    LengthField: lambda _: LENGTH,
    Count: lambda field: {"type": "integer", "minimum": field.least, "maximum": field.most},
    Amount: lambda field: {"type": ["string", "number"], "minimum": 0, "maximum": field.most, "maxLength": 20},
    Seconds: lambda _: {"type": "number", "exclusiveMinimum": 0, "maximum": limits.SECONDS},
    Text: lambda field: {"type": "string", "minLength": field.least, "maxLength": field.most},
    Choice: lambda field: {"enum": [*field.words]},
    Flag: lambda _: {"type": "boolean"},
    DateField: lambda _: {"type": "string", "format": "date"},
    HourField: lambda _: {"type": "string", "examples": ["05:00"]},
    ZoneField: lambda _: {"type": "string", "examples": ["America/Chicago"]},
    PastedText: lambda _: {"type": "string"},
    AnswersField: lambda _: {"type": "object", "properties": _ANSWERS, "additionalProperties": False},
    Companion: lambda _: {"type": "object"},
    SidesField: lambda _: {"anyOf": [{"enum": [*Side]}, {"type": "array", "items": {"enum": [*Side]}}]},
    PitchField: lambda _: {"type": "string", "examples": ["6/12"]},
}


def _size(field: fields.List[Any]) -> Json:
    sizes = [rule for rule in field.validators if isinstance(rule, LengthValidator)]
    return {"minItems": sizes[0].min or 0, "maxItems": sizes[0].max} if sizes else {}
