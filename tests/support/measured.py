"""Tern Cottage, rear porch, as somebody would post what was measured; ``tests.measured_porch`` has it as objects."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]


def _post(corner: str) -> Json:
    return {"meets": "outside_post", "takes_up": "1/2", "flange": "1 1/4", "corner": corner}


def _opening(name: str, kind: str, place: tuple[float, float], size: tuple[float, float]) -> Json:
    return {"id": name, "kind": kind, "from": place[0], "bottom": place[1], "width": size[0], "height": size[1]}


def _material(name: str, category: str, *lengths: str) -> Json:
    return {"id": name, "category": category, "stock": [{"id": length, "length": length} for length in lengths]}


MATERIALS = [
    _material("panel-sand", "siding", "12' 6\""),
    _material("starter", "starter", "10'"),
    _material("channel", "channel", "12' 6\""),
    _material("utility", "channel", "12' 6\""),
    _material("post", "post", "10'", "20'"),
    _material("soffit", "soffit", "12'"),
    _material("soffit-channel", "channel", "12' 6\""),
    _material("drip-cap", "other", "10'"),
    _material("skirt", "other", "16'"),
]
USES = {
    "panel": "panel-sand",
    "starter": "starter",
    "channel": "channel",
    "utility": "utility",
    "outside_post": "post",
    "soffit": "soffit",
    "soffit_channel": "soffit-channel",
    "drip_cap": "drip-cap",
    "closure": "skirt",
}
MEASURED: Json = {
    "name": "Tern Cottage, rear porch",
    "units": "in",
    "materials": MATERIALS,
    "uses": USES,
    "exposure": 8,
    "face": "3/4",
    "coverage": 12,
    "walls": [
        {
            "id": "back",
            "width": "24'",
            "height": 100,
            "elevation": 18,
            "left": _post("south-west"),
            "right": "channel",
            "bottom": "deck",
            "openings": [
                _opening("D", "door", (60, 0), (38, 82)),
                _opening("W", "window", (150, 36), (40, 44)),
                _opening("light", "fixture", (110, 66), (6, 8)),
                _opening("socket", "fixture", (220, 16), (5, 4)),
            ],
        },
        {
            "id": "side",
            "outline": [[0, 0], [240, 0], [240, 118], [120, 178], [0, 118]],
            "left": _post("south-east"),
            "right": _post("south-west"),
            "openings": [_opening("vent", "fixture", (116, 150), (8, 8))],
        },
    ],
    "ceilings": [{"id": "porch", "length": "24'", "width": "12'"}],
}
"""Two walls of different elevation, a door, a window, three fixtures, a 12 ft soffit ceiling."""
