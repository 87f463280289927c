"""The contract of ``/openapi.json`` as rows for people: operations, objects with their fields, lists of codes."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup, escape

from service.documentation.markdown import inline
from service.wire import codes
from service.wire.fields import Json

CODES: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "errors": ("What is wrong with a place of a request: code in errors", codes.ERRORS),
    "lines": ("Why a line of a pasted list can't be read", codes.LINES),
    "failures": ("Why there is no plan: code in problem", codes.FAILURES),
    "not-cut": ("Why pieces stay uncut: code in not_cut", codes.NOT_CUT),
    "notices": ("What is to be known of a plan or a take-off: code in warnings", codes.NOTICES),
    "faults": ("What is wrong with a plan that was sent to be checked", codes.FAULTS),
}
"""Every list of codes by its place on the page, with its heading."""
_AREAS = {
    "cut-plans": "Cut plans", "cut-plan-batches": "Cut plans", "cut-lists": "Pasted lists",
    "takeoffs": "Measurements", "plan-checks": "Checks",
    "crews": "A crew's week", "materials": "The catalogue", "price-list": "The catalogue", "rack": "The rack",
    "company": "What is kept of company and customers", "customers": "What is kept of company and customers",
}  # fmt: skip
_OTHERS = "The server itself"
_REF = "#/components/schemas/"


@dataclass(frozen=True, slots=True)
class Parameter:
    """A part of an address, a query parameter or a header, with its words."""

    name: str
    where: str
    shape: Markup
    about: Markup


@dataclass(frozen=True, slots=True)
class Call:
    """One operation: method and address, what it is for, what it takes, and what it answers."""

    id: str
    method: str
    path: str
    summary: str
    parameters: Sequence[Parameter]
    body: Markup
    example: str
    answers: Sequence[tuple[str, Markup, Markup]]


@dataclass(frozen=True, slots=True)
class Field:
    """One field of an object."""

    name: str
    shape: Markup
    is_required: bool
    default: str
    about: Markup


@dataclass(frozen=True, slots=True)
class Described:
    """One object of requests or answers."""

    name: str
    about: Markup
    fields: Sequence[Field]


def areas(contract: Json) -> list[tuple[str, list[Call]]]:
    """Return the operations by what they are about."""
    calls = [
        (_area(path), _call(path, method, told))
        for path, methods in contract["paths"].items()
        for method, told in methods.items()
    ]
    order = [*dict.fromkeys(_AREAS.values()), _OTHERS]
    calls.sort(key=lambda call: (order.index(call[0]), call[1].path))
    return [(area, [call for _, call in each]) for area, each in groupby(calls, key=lambda call: call[0])]


def objects(contract: Json) -> list[Described]:
    """Return the objects and the shapes of values, by name."""
    return [_described(name, told) for name, told in sorted(contract["components"]["schemas"].items())]


def _described(name: str, told: Json) -> Described:
    needed, fields = told.get("required", ()), told.get("properties", {})
    return Described(name, inline(told["description"]), [_field(key, fields[key], key in needed) for key in fields])


def _area(path: str) -> str:
    parts = path.split("/")
    return _AREAS.get(parts[2], _OTHERS) if parts[1] == "v1" else _OTHERS


def _call(path: str, method: str, told: Json) -> Call:
    body = told.get("requestBody", {}).get("content", {})
    return Call(
        id=told["operationId"],
        method=method.upper(),
        path=path,
        summary=told["summary"],
        parameters=[_parameter(each) for each in told.get("parameters", ())],
        body=_content(body),
        example="".join(_example(told["example"]) for told in body.values() if "example" in told),
        answers=[
            (status, inline(answer["description"]), _content(answer.get("content", {})))
            for status, answer in told["responses"].items()
        ],
    )


def _parameter(told: Json) -> Parameter:
    return Parameter(told["name"], told["in"], shape_of(told["schema"]), inline(told.get("description", "")))


def _content(content: Json) -> Markup:
    """Return what a body may be: objects by their shape, files by their media type."""
    joined: list[Markup] = []
    for media, told in content.items():
        schema = told.get("schema", {})
        joined.append(shape_of(schema) if "$ref" in schema or "oneOf" in schema else escape(media))
    return Markup(", ").join(joined)


def _example(body: Json) -> str:
    return json.dumps(body, indent=2, ensure_ascii=False)


def _field(name: str, told: Json, is_required: bool) -> Field:
    default = "" if told.get("default") is None else _said(told["default"])
    return Field(name, shape_of(told), is_required, default, inline(told.get("description", "")))


def _said(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value) if value != "" else "empty"


def shape_of(schema: Json) -> Markup:
    """Return what a JSON Schema allows, in words and with links to objects."""
    if "$ref" in schema:
        name = schema["$ref"].removeprefix(_REF)
        return Markup('<a href="/docs/fields#{0}">{0}</a>').format(name)
    for either in ("anyOf", "oneOf"):
        if either in schema and not all("required" in one or "format" in one for one in schema[either]):
            return Markup(" or ").join(shape_of(one) for one in schema[either])
    if schema.get("type") == "array":
        return Markup("list of ") + shape_of(schema.get("items", {}))
    if "enum" in schema:
        return escape("one of the words told")
    kind = schema.get("type", "anything")
    words = " or ".join(kind) if isinstance(kind, list) else str(kind)
    return escape(words + _limits(schema))


_FORMATS = {"date": ", a date", "date-time": ", a date and time"}


def _limits(schema: Json) -> str:
    above, least, most = (schema.get(name) for name in ("exclusiveMinimum", "minimum", "maximum"))
    if above is None and least is None and most is None:
        longest = f", {schema['maxLength']} characters at most" if "maxLength" in schema else ""
        return _FORMATS.get(schema.get("format", ""), longest)
    start = f", more than {above}" if above is not None else f", from {least}" if least is not None else ""
    return start if most is None else f"{start}{',' if above is not None or least is None else ''} to {most}"
