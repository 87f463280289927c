"""What the fields of the form offer: words for categories, ends and units, and the trade's defaults as hints."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from service.counter import form as forms
from service.counter.form import MATERIAL, MaterialRow, StockForm, typed
from solver.lengths import Unit, say
from solver.materials import Category, FactoryEnd, LapEnds
from solver.required import End, Meets, Side
from solver.takeoff.measured import Meeting, OpeningKind, Role

_LABELS = {
    "lap": "Lap",
    "end_gap": "Gap at each channel",
    "kerf": "Saw kerf",
    "lap_ends": "Lapped ends",
    "shortest_piece": "Shortest piece of a run",
    "lap_spacing": "Between laps of adjacent courses",
    "lap_repeat": "Courses until laps may line up",
    "in_line_within": "Laps line up within",
    "keep_offcuts_from": "Keep offcuts from",
    "extra_laps": "Laps more than needed",
    "spare_percent": "Spares, %",
}
UNITS = {Unit.IN: "inches", Unit.FT: "feet", Unit.MM: "millimetres", Unit.CM: "centimetres", Unit.M: "metres"}
CATEGORIES = {category: category.kind.words for category in Category}
LAP_ENDS = {
    LapEnds.FACTORY: "factory ends only",
    LapEnds.RENOTCHED: "cut ends too, trimmed for it",
    LapEnds.ANY: "any end",
}
FACTORY_ENDS = {
    FactoryEnd.NONE: "no factory end",
    FactoryEnd.LEFT: "left end is factory",
    FactoryEnd.RIGHT: "right end is factory",
    FactoryEnd.BOTH: "both ends are factory",
}
ROLES = {
    Role.PANEL: "siding panel",
    Role.STARTER: "starter strip",
    Role.CHANNEL: "J-channel",
    Role.UTILITY: "utility trim",
    Role.OUTSIDE_POST: "outside corner post",
    Role.INSIDE_POST: "inside corner post",
    Role.DRIP_CAP: "drip cap",
    Role.CLOSURE: "trim over a floor",
    Role.SOFFIT: "soffit panel",
    Role.SOFFIT_VENTED: "vented soffit panel",
    Role.SOFFIT_CHANNEL: "soffit channel",
    Role.FASCIA: "fascia cover",
}
ENDS = {
    Meeting.OUTSIDE_POST: "outside post",
    Meeting.INSIDE_POST: "inside post",
    Meeting.CHANNEL: "channel",
    Meeting.MASONRY: "masonry",
}
FEET = {
    Meeting.STARTER: "starter strip",
    Meeting.DECK: "deck or floor",
    Meeting.ROOF: "roof",
    Meeting.MASONRY: "masonry",
}
HEADS = {
    Meeting.SOFFIT: "soffit that is up",
    Meeting.SOFFIT_LATER: "soffit that comes after",
    Meeting.CHANNEL: "channel",
}
KINDS = {OpeningKind.WINDOW: "window", OpeningKind.DOOR: "door", OpeningKind.FIXTURE: "fixture"}
SEEN = {"": "nowhere in particular", Side.LEFT: "the left", Side.RIGHT: "the right"}
SETTINGS = tuple((name, _LABELS.get(name, name.replace("_", " "))) for name in forms.SETTINGS)
"""Every setting of a material with its label, in the order in which it is declared."""
CHOSEN = {"lap_ends": LAP_ENDS}
"""Settings that are one of a few."""


def usual(form: StockForm, row: MaterialRow, name: str) -> str:
    """Return what a setting is if its field is left empty."""
    return typed(getattr(Category(row.category).kind.defaults, name), MATERIAL[name], form.unit)


def in_short(form: StockForm, row: MaterialRow) -> str:
    """Return the allowances of a material in a line."""
    told = {name: row.settings.get(name, "").strip() or usual(form, row, name) for name in ("lap", "end_gap", "kerf")}
    lap = "not lapped" if told["lap"] == "none" else f"lap {told['lap']}"
    if told["lap"].startswith("-"):
        lap = f"butted with a gap of {told['lap'][1:]}"
    return f"{lap}, end gap {told['end_gap']}, saw {told['kerf']}"


def end(side: str, what: End) -> str:
    """Return what an end meets, in words; empty where it is plain."""
    return {Meets.PLAIN: "", Meets.LAP: f"lapped {side}", Meets.CHANNEL: f"channel {side}"}[what.meets]


def called(category: str) -> str:
    """Return the name that a category has of itself."""
    return Category(category).kind.product


def room(length: int, extra: int, unit: Unit) -> str:
    """Return the length that a piece may grow to."""
    return f"room to {say(length + extra, unit)}"


def places(names: Iterable[str]) -> list[tuple[str, str]]:
    """Return names as options whose values are their places: a name may be changed."""
    return [(str(place), name) for place, name in enumerate(names)]


def today() -> str:
    """Return the date where the server stands."""
    return datetime.now().astimezone().date().isoformat()
