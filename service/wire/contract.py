"""Parts of the contract: components, made from the schemas of the wire by apispec, and parameters by name.

There is one set of components for requests and one for answers; an operation names the headers and query parameters
that it heeds.
"""

from __future__ import annotations

import inspect
from base64 import b64encode
from collections.abc import Iterable, Mapping
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from marshmallow import EXCLUDE, Schema, fields

from service.wire import limits
from service.wire.cut_list import CustomerAnswersSchema, CutListRequestSchema
from service.wire.fields import Described, Json, Side
from service.wire.job import JobSchema
from service.wire.materials.catalogue import CatalogueMaterialSchema, PriceListSchema
from service.wire.numbers import LENGTH, MEASURE
from service.wire.particulars import CompanySchema, ParticularsSchema
from service.wire.plans.cut_plan import CURSOR
from service.wire.plans.cut_plan_batch import CutPlanBatchSchema
from service.wire.plans.plan_check import PlanCheckSchema
from service.wire.plans.ticks import ContinuationSchema, TicksSchema
from service.wire.rack import KeptByPlanSchema, RackPiecesSchema, UseSchema
from service.wire.takeoffs.takeoff import TakeOffSchema
from service.wire.week import DeliverySchema, RackSchema, WeekJobSchema, WeekSchema
from service.wire.week_report import ReportSchema
from workers.plans.record import State

TEXT: Json = {"type": "string"}
COUNT: Json = {"type": "integer", "minimum": 0}

REQUEST_HEADERS: Json = {
    "Prefer": {
        "description": "RFC 7240: wait=N holds the answer up to N seconds, 30 at most, until the plan is there; "
        "it is planned ahead of background requests.",
        "schema": TEXT,
        "example": "wait=10",
    },
    "Idempotency-Key": {
        "description": "Of the client's choosing: the same request under the same key is accepted once, however "
        "often it is sent.",
        "schema": {"type": "string", "minLength": 1, "maxLength": 255, "pattern": "^[\\x21-\\x7e]+$"},
    },
    "If-Match": {
        "description": "RFC 9110: the ETag that the client knows; where it is another by now, nothing is done and the "
        "answer is 412.",
        "schema": TEXT,
    },
    "Last-Event-ID": {
        "description": "WHATWG HTML, 9.2: the id of the last event that the client had of this stream.",
        "schema": TEXT,
    },
    "If-None-Match": {"description": "RFC 9110: the ETag of what the client has already.", "schema": TEXT},
}
"""Headers that a client may send."""

ANSWER_HEADERS: Json = {
    "Location": {"description": "Where the plan is.", "schema": {"type": "string", "format": "uri-reference"}},
    "Retry-After": {"description": "Seconds after which it is worth asking again.", "schema": COUNT},
    "ETag": {"description": "RFC 9110: changes whenever the resource does.", "schema": TEXT},
    "Link": {"description": "RFC 8288: the next page, rel=next, where there is one.", "schema": TEXT},
    "Deprecation": {"description": "RFC 9745: since when this has something better in its place.", "schema": TEXT},
    "Sunset": {"description": "RFC 8594: from when this may be gone.", "schema": TEXT},
    "Preference-Applied": {"description": "RFC 7240: the preference that was heeded.", "schema": TEXT},
    "Accept-Encoding": {"description": "RFC 9110: content codings that a body may have.", "schema": TEXT},
    "WWW-Authenticate": {"description": "RFC 9110: how to say who is asking.", "schema": TEXT},
    "RateLimit": {"description": "What is left of the limit for requests of this kind (r), for so many seconds (t).",
                  "schema": TEXT},
    "RateLimit-Policy": {"description": "The limit (q) for requests of this kind in so many seconds (w).",
                         "schema": TEXT},
    "Request-Id": {"description": "The number under which the server has logged the request.", "schema": TEXT},
}
"""Headers of answers."""

_NAME: Json = {"type": "string", "minLength": 1, "maxLength": limits.ID, "pattern": r"^[^\u0000-\u001f\u007f/]+$"}
MONDAY = "2030-02-04"
PATHS: Json = {"customer": "Tern Cottage", "crew": "tern", "week": "2030-W06", "job": "boat-shed", "day": MONDAY,
               "material": "panel-sand", "label": "R-18"}  # fmt: skip
"""Parts of an address."""
PATH: Json = {
    "plan_id": {"description": "The plan, by its `id`.", "schema": {"type": "string", "pattern": "^[0-9a-f]{32}$"}},
    "customer": {"description": "The customer, by name.", "schema": _NAME, "example": PATHS["customer"]},
    "crew": {"description": "The crew, by whatever name.", "schema": _NAME, "example": PATHS["crew"]},
    "week": {
        "description": "The week as ISO 8601 writes it.",
        "schema": {"type": "string", "pattern": "^[0-9]{4}-W(0[1-9]|[1-4][0-9]|5[0-3])$"},
        "example": PATHS["week"],
    },
    "material": {"description": "The material, by id.", "schema": _NAME, "example": PATHS["material"]},
    "job": {"description": "The job, by whatever name.", "schema": _NAME, "example": PATHS["job"]},
    "label": {"description": "What is written on it.", "schema": _NAME, "example": PATHS["label"]},
    "day": {
        "description": "A day of the week.",
        "schema": {"type": "string", "format": "date"},
        "example": PATHS["day"],
    },
}
"""Parts of an address."""

_SOUGHT: Json = {"type": "string", "maxLength": limits.TEXT}
_STATES = "|".join(State)
_DAY: Json = {"type": "string", "format": "date"}
_MOMENT: Json = {"type": "string", "anyOf": [{"format": "date-time"}, {"format": "date"}]}
QUERY: Json = {
    "limit": {"type": "integer", "minimum": 1, "maximum": 2_000, "default": 500},
    "after": {"type": "integer", "minimum": 0, "maximum": 10**9, "default": 0},
    "plan": {"type": "boolean", "default": False},
    "dry_run": {"type": "boolean", "default": False},
    "paper": {"enum": ["letter", "a4"]},
    **dict.fromkeys(("q", "name", "customer", "purchase_order", "ref", "phone"), _SOUGHT),
    "number": {"type": "string", "pattern": "^[1-9][0-9]{5,11}$"},
    "state": {"type": "string", "pattern": f"^({_STATES})(,({_STATES}))*$"},
    **dict.fromkeys(("created_from", "created_until"), _MOMENT),
    **dict.fromkeys(("wanted_from", "wanted_to"), _DAY),
    "cursor": {"type": "string", "pattern": f"^{CURSOR}$"},
}
"""Schemas of query parameters; others are text."""
_PANEL: Json = {
    "id": "panel-sand",
    "description": "double 4 in panel, sand",
    "category": "siding",
    "stock": [{"id": "12-6", "length": "12' 6\"", "price": "9.80"}],
}
_A: Json = {"mark": "A", "material": "panel-sand", "length": "9' 6\"", "quantity": 4, "left_end": "lap"}
_B: Json = {"mark": "B", "material": "panel-sand", "length": "4' 2\"", "quantity": 6}
_C: Json = {"mark": "C", "material": "panel-sand", "length": "34 1/2", "quantity": 4}
_OFFCUT: Json = {"id": "R-17", "material": "panel-sand", "length": "61 1/2", "factory_end": "left"}
_OFFCUT_ON_RACK: Json = {"label": "R-18", "material": "panel-sand", "length": "61 1/2", "count": 3}
_JOB: Json = {"name": "Tern Cottage, boat shed", "units": "in", "materials": [_PANEL], "required": [_A, _B, _C]}
_WALL: Json = {
    "id": "west",
    "width": "22' 6\"",
    "height": 93,
    "left": {"meets": "outside_post", "takes_up": "1/2", "corner": "north-west"},
    "right": "channel",
    "openings": [{"id": "W", "kind": "window", "from": 156, "bottom": 35, "width": 34, "height": 45}],
}
_HOUSE: Json = {
    "name": "Tern Cottage, boat shed",
    "units": "in",
    "materials": [_PANEL],
    "uses": {"panel": "panel-sand"},
    "exposure": 8,
    "face": "3/4",
    "walls": [_WALL],
}
_ONE_CUT: Json = {
    "from": {"stock": "12-6", "length": 150, "factory_end": "both"},
    "cuts": [
        {"length": 50, "left": "factory", "right": "field"},
        {"length": 50, "left": "field", "right": "field"},
        {"length": 50, "left": "field", "right": "factory"},
    ],
    "offcut": {"length": 0, "keep": False, "factory_end": "none", "after": 3},
}
_STICKS = [
    {"stick": f"S{n + 1}", "pieces": [{"item": 0, "piece": 3 * n + place} for place in (1, 2, 3)]} for n in (0, 1)
]
_CHECK: Json = {
    "request": {"units": "in", "materials": [_PANEL], "required": [_B]},
    "plan": {"materials": [{"material": "panel-sand", "patterns": [{**_ONE_CUT, "sticks": _STICKS}]}]},
}
EXAMPLES: Mapping[type[Schema], Json] = {
    JobSchema: _JOB,
    CutPlanBatchSchema: {"requests": [_JOB]},
    CutListRequestSchema: {"text": "4 @ 9'7\n(6) 142 3/8", "units": "in", "materials": ["panel-sand"]},
    CustomerAnswersSchema: {"answers": {"n-n": "feet-inches"}},
    TakeOffSchema: _HOUSE,
    PlanCheckSchema: _CHECK,
    TicksSchema: {"ticks": [{"piece": "S1-1", "before": "to_cut", "state": "cut"}]},
    CatalogueMaterialSchema: {
        "units": "in",
        **{name: _PANEL[name] for name in ("description", "category")},
        "also": ["sand siding"],
        "stock": [_PANEL["stock"][0], {**_PANEL["stock"][0], "price": "10.20", "from": MONDAY}],
    },
    PriceListSchema: {"file": b64encode(b"Material,Type,Length,Price each\npanel-sand,siding,150,9.80\n").decode()},
    CompanySchema: {"name": "Heron Yard Supply", "tax_name": "Sales tax", "tax_percent": "6.5"},
    ParticularsSchema: {"customer": "Tern Cottage", "purchase_order": "TC-4", "wanted_by": MONDAY},
    WeekSchema: {"units": "in", "materials": [_PANEL], "deliveries": [{"date": MONDAY}], "rack": [_OFFCUT]},
    WeekJobSchema: {"date": MONDAY, "name": "Tern Cottage, boat shed", "required": [_A, _B, _C]},
    DeliverySchema: {"received": [{"material": "panel-sand", "stock": "12-6", "count": 10}]},
    RackPiecesSchema: {"units": "in", "pieces": [_OFFCUT_ON_RACK]},
    KeptByPlanSchema: {"from": "0" * 32},
    UseSchema: {"count": 1},
    ContinuationSchema: {"cut": ["S1-1"], "miscut": [{"piece": "S1-2", "usable": ["28 1/2"]}]},
    RackSchema: {"offcuts": [_OFFCUT]},
    ReportSchema: {
        "done": [{"job": "boat-shed", "item": 0, "quantity": 4}],
        "sticks": [{"material": "panel-sand", "stock": "12-6", "count": 4}],
    },
}
"""Examples by the schema that reads them."""


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
        groups = getattr(schema, "either", ()) if self.asked else ()
        either = {"anyOf": [{"required": [*group]} for group in groups]} if groups else {}
        open_ = {name for group in groups for name in group}
        there = self._given if self.asked or getattr(schema, "as_given", False) else self._answered
        return {
            "type": "object",
            "description": inspect.cleandoc(type(schema).__doc__ or "").split("\n\n")[0].replace("\n", " "),
            "properties": {names[name]: self.field2property(field) for name, field in described.items()},
            "required": [names[name] for name, field in described.items() if there(field) and name not in open_],
            **either,
            "additionalProperties": self.asked and schema.unknown == EXCLUDE,
        }

    def _other_side(self, field: fields.Field[Any]) -> bool:
        return field.dump_only if self.asked else field.load_only

    def _given(self, field: fields.Field[Any]) -> bool:
        return field.required

    def _answered(self, field: fields.Field[Any]) -> bool:
        return not getattr(field, "sparse", False)


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
