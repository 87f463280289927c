"""One request for each body of the contract, all of one small job and its week, that can be sent as they stand."""

from __future__ import annotations

from collections.abc import Mapping

from marshmallow import Schema

from service.wire.cut_list import CutListRequestSchema
from service.wire.fields import Json
from service.wire.job import JobSchema
from service.wire.plan_check import PlanCheckSchema
from service.wire.takeoff import TakeOffSchema
from service.wire.week import DeliverySchema, RackSchema, ReportSchema, WeekJobSchema, WeekSchema

MONDAY = "2030-02-04"
PATHS: Json = {"crew": "tern", "week": "2030-W06", "job": "boat-shed", "day": MONDAY}
"""Parts of an address."""

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
    CutListRequestSchema: {"text": "4 @ 9'7\n(6) 142 3/8", "units": "in", "materials": ["panel-sand"]},
    TakeOffSchema: _HOUSE,
    PlanCheckSchema: _CHECK,
    WeekSchema: {"units": "in", "materials": [_PANEL], "deliveries": [{"date": MONDAY}], "rack": [_OFFCUT]},
    WeekJobSchema: {"date": MONDAY, "name": "Tern Cottage, boat shed", "required": [_A, _B, _C]},
    DeliverySchema: {"received": [{"material": "panel-sand", "stock": "12-6", "count": 10}]},
    RackSchema: {"offcuts": [_OFFCUT]},
    ReportSchema: {
        "done": [{"job": "boat-shed", "item": 0, "quantity": 4}],
        "sticks": [{"material": "panel-sand", "stock": "12-6", "count": 4}],
    },
}
"""Examples by the schema that reads them."""
