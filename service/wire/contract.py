"""The components of the contract, made from the schemas of the wire by apispec: one set of requests, one of answers."""

from __future__ import annotations

import inspect
from collections.abc import Iterable
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from marshmallow import EXCLUDE, Schema, fields

from service.wire.fields import Described, Json, Side
from service.wire.lengths import LENGTH, MEASURE


def component_name(schema: type[Schema], *, asked: bool) -> str:
    """Return what a schema is called among the components."""
    return schema.__name__.removesuffix("Schema").removesuffix("Request") + ("Request" if asked else "")


def components(asked: Iterable[type[Schema]], answered: Iterable[type[Schema]]) -> Json:
    """Return the components of these schemas and of all they nest."""
    made: Json = {"Length": LENGTH, "Measure": MEASURE}
    for schemas, plugin in ((asked, _Asked()), (answered, _Answered())):
        spec = APISpec("", "", "3.1.0", plugins=[plugin])
        assert plugin.converter is not None
        for schema in schemas:
            plugin.converter.resolve_nested_schema(schema)  # type: ignore[no-untyped-call]
        made |= spec.to_dict().get("components", {}).get("schemas", {})
    return made


class _Converter(OpenAPIConverter):
    """Our fields say their own shape; objects are closed, but for those whose schema passes over what it knows not."""

    asked: bool

    def init_attribute_functions(self) -> None:
        """Let a field's own shape come last."""
        super().init_attribute_functions()  # type: ignore[no-untyped-call]
        for said_otherwise in (self.field2read_only, self.field2write_only, self.field2nullable):
            self.attribute_functions.remove(said_otherwise)
        self.add_attribute_function(_shape)  # type: ignore[no-untyped-call]

    def schema2jsonschema(self, schema: Schema) -> Json:
        """Return the JSON Schema of an object."""
        described = {name: field for name, field in schema.fields.items() if not self._other_side(field)}
        names = {name: field.data_key or name for name, field in described.items()}
        return {
            "type": "object",
            "description": inspect.cleandoc(type(schema).__doc__ or "").split("\n\n")[0].replace("\n", " "),
            "properties": {names[name]: self.field2property(field) for name, field in described.items()},
            "required": [names[name] for name, field in described.items() if self._there(field)],
            "additionalProperties": self.asked and schema.unknown == EXCLUDE,
        }

    def _other_side(self, field: fields.Field[Any]) -> bool:
        return field.dump_only if self.asked else field.load_only

    def _there(self, field: fields.Field[Any]) -> bool:
        return field.required if self.asked else not getattr(field, "sparse", False)


def _shape(converter: _Converter, field: fields.Field[Any], ret: Json) -> Json:
    """Return the shape that one of our fields gives itself, and null where it takes that."""
    side = Side(converter.asked, converter.resolve_nested_schema)
    shape = field.shape(side) if isinstance(field, Described) else {}
    if isinstance(field, Described) and (limits := field.keeps_to(side)):
        ret["description"] = f"{ret.get('description', '')} {limits}".strip()
    if not converter.asked:
        ret.pop("default", None)
    words = {name: ret[name] for name in ("description", "default") if name in ret}
    if not field.allow_none or (not converter.asked and getattr(field, "sparse", False)):
        return shape
    others = {name: ret.pop(name) for name in [*ret] if name not in words}
    return {"anyOf": [others | shape, {"type": "null"}]}


class _AskedConverter(_Converter):
    asked = True


class _AnsweredConverter(_Converter):
    asked = False


class _Asked(MarshmallowPlugin):
    Converter = _AskedConverter

    def __init__(self) -> None:
        super().__init__(lambda schema: component_name(_class(schema), asked=True))


class _Answered(MarshmallowPlugin):
    Converter = _AnsweredConverter

    def __init__(self) -> None:
        super().__init__(lambda schema: component_name(_class(schema), asked=False))


def _class(schema: type[Schema] | Schema) -> type[Schema]:
    return schema if isinstance(schema, type) else type(schema)
