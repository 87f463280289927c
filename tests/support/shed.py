"""Tern Cottage, boat shed, as the JSON request of the contract's first page."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

Json = dict[str, Any]

SHED: Json = {
    "name": "Tern Cottage, boat shed",
    "units": "in",
    "materials": [
        {
            "id": "panel-sand",
            "description": "double 4 in panel, sand",
            "category": "siding",
            "stock": [{"id": "12-6", "length": "12' 6\"", "price": "9.80"}],
        }
    ],
    "required": [
        {
            "mark": "A", "material": "panel-sand", "length": "9' 6\"", "quantity": 4, "left_end": "lap",
            "right_end": "plain",
        },
        {"mark": "B", "material": "panel-sand", "length": "4' 2\"", "quantity": 6},
        {"mark": "C", "material": "panel-sand", "length": "34 1/2", "quantity": 4},
    ],
}  # fmt: skip

WALL: Json = {
    "name": "Tern Cottage, north wall",
    "units": "in",
    "materials": SHED["materials"],
    "walls": [{"id": "north", "viewed_from": "14'"}],
    "required": [
        {
            "mark": "N", "material": "panel-sand", "length": "27' 4\"", "left_end": "channel", "right_end": "channel",
            "wall": "north", "start": 0, "first_course": 1, "courses": 3,
            "keep_clear": [{"from": "8' 2\"", "to": "11' 2\"", "first": 3, "last": 3}],
            "cut_outs": [{"from": 40, "to": 46.5, "edge": "top", "height": "5 1/8", "course": 2}],
        }
    ],
}  # fmt: skip
"""Three courses of the north wall, longer than a panel, seen from between, with a window above the second."""


def shed(**changes: object) -> Json:
    """Return the shed request with top-level fields changed."""
    return deepcopy(SHED) | changes


def shed_with(path: str, value: object) -> Json:
    """Return the shed request with one value set at a path such as ``required/0/length``."""
    request = deepcopy(SHED)
    *above, last = (int(step) if step.isdigit() else step for step in path.split("/"))
    place: Any = request
    for step in above:
        place = place[step]
    place[last] = value
    return request
