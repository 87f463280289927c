"""The words of the page for what was measured: a label for each field, words for what can be chosen."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from enum import StrEnum

from service.counter.house.entries import GOODS, OPENINGS, PANELS, WITHOUT, Group
from service.counter.house.form import UNUSED, HouseForm, Path, Row
from service.counter.labels import FIELDS, ROLES, places
from service.wire.fields import Choice
from service.wire.numbers import LengthField
from solver.lengths import say
from solver.takeoff.goods import Begin, SoldAs
from solver.takeoff.measured import EaveCorner, Finish, LastPanel, Meeting, OpeningKind
from solver.takeoff.rules import Deduct, GableRule, Waste, settings_for

LABELS: Mapping[str, Mapping[str, str]] = {
    "": {
        "hem": "Nail hem above the exposure",
        "face": "J-channel face width",
        "coverage": "Soffit coverage width",
        "course_line": "Lowest course above level line",
        "within_days": FIELDS["form"]["within_days"],
        "settings_cut_out_clearance": "Cut-outs wider, each side",
        "settings_height_clearance": "Upper edges short of their pocket",
        "settings_sliver": "Warn of strips lower than",
        "settings_keep_clear": "Courses without laps at openings",
        "settings_corners": "Channel corners at openings",
        "settings_above_floor": "Siding above a roof or deck",
        "settings_above_grade": "Siding above the ground",
        "settings_nail_spacing": "Nails along a course, apart",
        "settings_trim_nail_spacing": "Nails along trim, apart",
        "settings_soffit_span": "Soffit without a nailer, at most",
        "settings_eave_gap": "Eave panels shorter, in all",
        "settings_warmer_by": "May become warmer by, °C",
        "settings_expansion": "Growth of vinyl, µm per m and °C",
        "settings_vented": "Share of vented soffit, 0 to 1",
        "settings_deduct": "Openings taken off the area",
        "settings_large": "A large opening, square feet",
        "settings_gable": "Gables by area",
        "settings_waste": "Waste by area",
        "settings_waste_percent": "Waste by area, %",
        "settings_wrap_percent": "House wrap, more by %",
        "settings_wrap_width": "Width of house wrap",
        "settings_nails_to_weight": "Nails to the lb (metric job kg)",
        "settings_coil_width": "Width of trim coil",
        "settings_fascia_girth": "Coil round fascia, laid flat",
        "settings_casing_girth": "Coil round casings, laid flat",
        "settings_strapping": "Furring behind all siding, apart",
        "settings_temperature": "Temperature at the wall, °F (metric job °C)",
        "settings_cold": "Installed below 40 °F (4.4 °C)",
    },
    "walls": {
        "id": "Name",
        "height": "Height at both ends",
        "peak": "Height of gable peak",
        "elevation": "Wall bottom above level line",
        "left": "Left end",
        "left_takes_up": "Post depth",
        "left_flange": "Post flange",
        "left_corner": "Corner name",
        "left_material": "Left post’s material",
        "right": "Right end",
        "right_takes_up": "Post depth",
        "right_flange": "Post flange",
        "right_corner": "Corner name",
        "right_material": "Right post’s material",
        "bottom": "Bottom meets",
        "bottom_takes_up": "Trim depth at bottom",
        "top": "Top meets",
        "top_takes_up": "Trim depth at top",
        "rake": "Slopes meet",
        "rake_takes_up": "Trim depth at slopes",
        "step": "Upright steps meet",
        "step_takes_up": "Post depth at steps",
        "step_flange": "Post flange at steps",
        "step_corner": "Corner name at steps",
        "step_material": "Post’s material at steps",
        "finish": "Strip over a deck or roof",
        "viewed_from": "Seen from left, right, or a place along it",
        "grade": "Ground above wall bottom",
        "panel": "Covered with",
    },
    "panels": {"hem": "Nail hem", "begin": "Upright panels begin"},
    "goods": {"need": "For", "id": "Bought as", "holds": "One pack holds"},
    "outline": {"along": "Along the wall", "up": "Up"},
    "edges": {
        "takes_up": "Trim depth",
        "flange": "Post flange",
        "corner": "Corner name",
    },
    "openings": {
        "kind": "Opening",
        "id": "Name",
        "left": "From left end",
        "bottom": "Sill height",
        "takes_up_left": "Trim depth at left",
        "takes_up_right": "Trim depth at right",
        "takes_up_sill": "Trim depth at sill",
        "takes_up_head": "Trim depth at head",
        "rises": "Right side higher by",
        "own_channel": "Frame has its own channel",
        "sold_as": "Bought for a fixture",
        "wrapped": "Coil round its casing",
    },
    "ceilings": {
        "id": "Name",
        "panels": "Panels run along the",
        "last": "Rip the last panel at",
        "takes_up": "Channel depth, one side",
        "divider": "Back-to-back channel, pocket to pocket",
        "nailers": "Nailers already there",
    },
    "eaves": {
        "id": "Name",
        "length": "Length along the wall",
        "left": "Left corner",
        "left_corner": "Left corner’s name",
        "right": "Right corner",
        "right_corner": "Right corner’s name",
        "fascia": "Fascia cover",
    },
}
"""Labels by the list that a field's row is in, and by its name there, where that name is not the word for it."""
NOUNS = {
    "walls": "wall", "outline": "corner", "edges": "edge", "openings": "opening", "ceilings": "ceiling",
    "eaves": "eave", "goods": "product", "panels": "panel",
}  # fmt: skip
MEETINGS: Mapping[str, str] = {
    Meeting.OUTSIDE_POST: "outside post",
    Meeting.INSIDE_POST: "inside post",
    Meeting.CHANNEL: "channel",
    Meeting.STARTER: "starter strip",
    Meeting.DECK: "deck or floor",
    Meeting.ROOF: "roof",
    Meeting.MASONRY: "masonry",
    Meeting.SOFFIT: "soffit already up",
    Meeting.SOFFIT_LATER: "soffit goes up later",
}
_SIDES = (Meeting.OUTSIDE_POST, Meeting.INSIDE_POST, Meeting.CHANNEL, Meeting.MASONRY)
_TOPS = (Meeting.SOFFIT, Meeting.SOFFIT_LATER, Meeting.CHANNEL, Meeting.MASONRY)
_MAY_MEET = {
    "left": _SIDES,
    "right": _SIDES,
    "step": _SIDES,
    "bottom": (Meeting.STARTER, Meeting.DECK, Meeting.ROOF, Meeting.MASONRY),
    "top": _TOPS,
    "rake": _TOPS,
}
KINDS = tuple(map(str, OpeningKind))
_CHOICES: Mapping[type[StrEnum], Mapping[str, str]] = {
    Meeting: MEETINGS,
    Finish: {
        Finish.TRIM: "closed by trim below the starter",
        Finish.CHANNEL: "channel, starter behind it",
        Finish.RIP: "ripped course in a channel",
    },
    LastPanel: {LastPanel.ONE: "one side", LastPanel.BOTH: "both sides, equally"},
    EaveCorner: {
        EaveCorner.NONE: "ends at the wall’s corner",
        EaveCorner.MITRED: "mitred",
        EaveCorner.SQUARE: "carries on over the corner",
        EaveCorner.INSIDE_MITRED: "inside corner, mitred",
        EaveCorner.INSIDE_SQUARE: "inside corner, runs to the other wall",
        EaveCorner.INSIDE_BUTT: "inside corner, stops at the other fascia",
    },
    Deduct: {Deduct.ALL: "all", Deduct.LARGE: "large ones", Deduct.HALF: "half of each", Deduct.NONE: "none"},
    GableRule: {
        GableRule.EXACT: "exactly",
        GableRule.FOOT: "a foot more each way",
        GableRule.THREE_QUARTERS: "3/4 of width × height",
        GableRule.THIRD: "1/3 of width × height",
        GableRule.FIFTH: "1/5 of width × height",
    },
    SoldAs: {SoldAs.BLOCK: "mounting block", SoldAs.VENT: "vent", SoldAs.NOTHING: "nothing"},
    Begin: {Begin.LEFT: "whole at the left corner", Begin.BALANCED: "with equal rips at both corners"},
    Waste: {Waste.MULTIPLY: "times 1 plus the waste", Waste.DIVIDE: "divided by 1 less the waste"},
}
"""Words for what can be chosen, where the request's own word is not what one would say."""
_FLAGS = {
    "own_channel": {"": "as usual for its kind", "yes": "yes", "no": "no"},
    "fascia": {"": "yes", "no": "no"},
    "wrapped": {"": "yes", "no": "no"},
    "settings_cold": {"": "as the temperature asks", "yes": "yes", "no": "no"},
}
_EXAMPLES = {
    ("", "exposure"): ("8", "200"),
    ("", "face"): ("3/4", "19"),
    ("", "coverage"): ("12", "300"),
    ("walls", "width"): ("22' 6\"", "6858"),
    ("walls", "height"): ("7' 9\"", "2362"),
    ("walls", "viewed_from"): ("left", "left"),
}
"""Examples of what has no default, in inches and in millimetres."""
_NAMES = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
_EDGE = re.compile(r"\bedge ([0-9]+)")


def label_of(group: Group, name: str) -> str:
    """Return the label of a field."""
    known = LABELS.get(group.name, {}).get(name)
    return known or name.removeprefix("settings_").replace("_", " ").capitalize()


def field_words(group: Group, name: str) -> list[str]:
    """Return where a field is within its row: of a wall's end, the end too."""
    side = name.partition("_")[0]
    names = [side, name] if group.name == "walls" and side in ("left", "right") and side != name else [name]
    labels = [label_of(group, it) for it in names]
    return [label[:1].lower() + label[1:] for label in labels]


def can_be_left_out(name: str) -> bool:
    """Whether a need or a use can be switched off."""
    return name in WITHOUT


def said(word: str) -> str:
    """Return a word of the request as one would say it."""
    return USES.get(word, word.replace("_", " "))


def options_of(row: Row, name: str) -> list[tuple[str, str]]:
    """Return what can be chosen in a field as values and words; what was chosen is always among them."""
    it = row.group.entries[name]
    if isinstance(it.field, Choice):
        words = _CHOICES.get(type(it.field.words[0]), {})
        offered = _MAY_MEET.get(name, it.words) if it.path[-1] == "meets" else it.words
    else:
        words = _FLAGS.get(name, {"": "as usual", "yes": "yes", "no": "no"})
        offered = tuple(words)
    known = dict.fromkeys([*offered, row[name] or it.start or offered[0]])
    return [(str(value), words.get(value, said(value))) for value in known]


USES: Mapping[str, str] = {**{str(role): said for role, said in ROLES.items()}, UNUSED: "another panel, or nothing yet"}
"""What a material can be used as."""


def listed(name: str) -> str:
    """Return the id of the list that what is typed in a field is offered from, empty where there is none."""
    if name.endswith("corner"):
        return "corners"
    return "sides" if name == "viewed_from" else ""


def corner_names(house: Row) -> list[str]:
    """Return the names of corners that are typed somewhere."""
    rows = [*house.below("walls"), *house.below("eaves")]
    names = (row[name].strip() for row in rows for name in row.group.entries if name.endswith("_corner"))
    return [*dict.fromkeys(filter(None, names))]


def is_told(row: Row, names: Iterable[str], at: str, faults: Mapping[str, str]) -> bool:
    """Whether any of these fields says something, or has a fault; of a wall, whether single edges are told."""
    prefix = f"{at}-" if at else ""
    told = any(row[name].strip() not in ("", row.group.entries[name].start) for name in names)
    return told or bool(row.below("edges")) or any(prefix + name in faults for name in names)


def material_options(form: HouseForm, row: Row, name: str) -> list[tuple[str, str]]:
    """Return the materials that a wall, a post or a kind of panel can be of; empty is the one that is set up for it."""
    panels = [row["material"] for row in form.house.below(PANELS.name)]
    known = [(place, said) for place, said in places(form.names) if name != "panel" or place in panels]
    return [("", "as set up" if row.group is not PANELS else "none yet"), *known]


def edge_options(wall: Row, edge: Row) -> list[tuple[str, str]]:
    """Return the edges of a wall: by its corners, of a wall by width and height by where they lie."""
    known = _edges_of(wall)
    here = edge["edge"]
    return known if here in dict(known) else [*known, (here, f"edge {here}, which is not there")]


def _edges_of(wall: Row) -> list[tuple[str, str]]:
    corners = [row for row in wall.below("outline") if not row.blank]
    if corners:
        count = len(corners)
        return [(str(n), f"corner {n + 1} to {(n + 1) % count + 1}") for n in range(count)]
    tops = ("right slope", "left slope") if wall["peak"].strip() else ("top",)
    sides = ("right end", *tops, "left end") if wall["height"].strip() != "0" else tops
    return [(str(n), words) for n, words in enumerate(("bottom", *sides))]


def hint_of(form: HouseForm, row: Row, name: str, place: int = 0) -> str:
    """Return what an empty field is taken as, else an example; what begins with "e.g." is none that is taken."""
    it = row.group.entries[name]
    if name == "id" and row.group is not GOODS:
        return row.name(place)
    usual = getattr(settings_for(form.unit), it.path[-1], None) if it.path[0] == "settings" else it.default
    if row.group is OPENINGS and name == "bottom" and row["kind"] == OpeningKind.DOOR:
        usual = 0
    if usual is not None:
        return say(int(str(usual)), form.unit) if isinstance(it.field, LengthField) else str(usual)
    example = _EXAMPLES.get((row.group.name, name))
    return f"e.g. {example[form.unit.metric]}" if example else ""


def name_of(row: Row, place: int) -> str:
    """Return a row in words: ``wall west``, ``window W1``."""
    noun = row["kind"] if row.group is OPENINGS else NOUNS[row.group.name]
    return f"{noun} {row.name(place)}"


def where_is(house: Row, path: Path) -> list[str]:
    """Return the rows on a way in words, the outermost first."""
    found: list[str] = []
    for name, place in path:
        house = house.below(name)[place]
        found.append(name_of(house, place))
    return found


def in_words(detail: str) -> str:
    """Return what is wrong with a request in the page's words; edges are counted from 1, as corners are."""
    words = {**MEETINGS, **USES, **FIELDS["m"], **_CHOICES[EaveCorner]}
    detail = _NAMES.sub(lambda found: words.get(found[0], found[0]), detail)
    detail = detail.replace(", or null", "")
    return _EDGE.sub(lambda found: f"the edge from corner {int(found[1]) + 1}", detail)
