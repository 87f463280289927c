"""Schemas of what is measured: walls with their edges and openings, ceilings, eaves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.wire import limits
from service.wire.base import WireSchema
from service.wire.fields import Choice, Described, Fault, Flag, Id, Json, Many, One, Side
from service.wire.numbers import FOOT, PLACE, Count, LengthField, PlaceField, plain, ticks
from solver.takeoff.goods import Begin, Panel, SoldAs
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

_POCKET = 2 * FOOT
_MEETS = (
    "What the siding meets there: `outside_post` or `inside_post`, a corner post; `channel`; `starter`, nothing, the "
    "wall's free bottom; `deck`, `roof` or `masonry`, a floor below it; `soffit`, one already up, so that the top "
    "course is ripped; `soffit_later`, one that goes up later, so that the top course stays whole."
)
_NAME = "Name of it, given once among its kind."


class BorderSchema(WireSchema):
    """What an edge of a wall meets, and how much its trim takes up."""

    meets = Choice(_MEETS, Meeting, required=True)
    takes_up = LengthField(
        "Distance, square to the edge, from the measured line to the back of the trim's pocket. Null or left out: over "
        "a floor the setting `above_floor`, else 0: the channel's back is on the measured line. A post must say.",
        most=_POCKET, allow_none=True, default=None,
    )  # fmt: skip
    corner = Id("Name of a corner that two walls share: its post is counted once.", allow_none=True, default=None)
    flange = LengthField(
        "How far a post's nailing flange reaches in from the measured line; the starter stops short of it.",
        most=_POCKET, allow_none=True, default=None,
    )  # fmt: skip
    material = Id(
        "A post's own material, by id, where corners have several faces; else what `uses` names for it.",
        allow_none=True, default=None,
    )  # fmt: skip


class BorderField(Described):
    """What an edge meets: a word, or an object that says more."""

    _word = Choice("", Meeting)
    _more = BorderSchema()

    def _deserialize(self, value: object, *_: object, **__: object) -> Border:
        if isinstance(value, dict):
            return border_of(self._more.load(value))
        return Border(self._word.deserialize(value))

    def shape(self, side: Side) -> Json:
        """A word or a border."""
        return {"anyOf": [self._word.shape(side), side.ref(BorderSchema)]}


def border_of(data: Mapping[str, Any]) -> Border:
    """Return the border that ``BorderSchema`` loaded."""
    return Border(**{name: ticks(value) for name, value in data.items() if name != "edge"})


class EdgeSchema(BorderSchema):
    """What one edge of an outline meets."""

    edge = Count(
        "Which edge: 0 runs from the outline's first point to its second; of a wall by width and height, 0 is the "
        "bottom.",
        0, limits.CORNERS, required=True,
    )  # fmt: skip


class PocketsSchema(WireSchema):
    """How much the trim of an opening takes up at each edge, outward from the measured line."""

    left = LengthField("At its left.", most=_POCKET, default=0)
    right = LengthField("At its right.", most=_POCKET, default=0)
    sill = LengthField("Under its sill.", most=_POCKET, default=0)
    head = LengthField("Over its head.", most=_POCKET, default=0)


class OpeningSchema(WireSchema):
    """An opening or a fixture, measured outside of its casing or frame."""

    id = Id(_NAME, required=True)
    kind = Choice(
        "`window`, `door`, or `fixture`: a block, light, vent or pipe that siding goes around.",
        OpeningKind,
        required=True,
    )
    left = LengthField("Its left edge, along the wall from its zero.", least=-PLACE, required=True, data_key="from")
    bottom = LengthField("Its sill or lower edge at the left, above the wall's zero.", least=-PLACE, required=True)
    width = LengthField("Its width.", required=True)
    height = LengthField("Its height.", required=True)
    takes_up = One("How much its trim takes up at each edge.", PocketsSchema)
    rises = LengthField(
        "How much its right side stands above its left; negative where it stands below.",
        least=-_POCKET, most=_POCKET, default=0,
    )  # fmt: skip
    own_channel = Flag(
        "Whether its frame brings its own pocket, so that no channel is bought for it. Default true for a fixture, "
        "else false."
    )
    sold_as = Choice(
        "What is bought for a fixture: `block`, a mounting block; `vent`; or `nothing`.", SoldAs, default=SoldAs.BLOCK
    )
    wrapped = Flag("Whether trim coil is wrapped round the casing of a window or door.", default=True)


FINISH = (
    "How the strip between a floor and the first course line above it is closed: `trim`, by trim below a starter on "
    "the course line; `channel`, by a channel with the starter behind it, so that this wall leaves the house's course "
    "line; `rip`, by a course ripped to fit, held in a channel."
)


class MeasuredWallSchema(WireSchema):
    """A wall as measured: width, height at its ends and peak if it has a gable, or its outline; edges; openings."""

    id = Id(_NAME, required=True)
    width = LengthField("Its width, with `height`; instead of `outline`.", least=1)
    height = LengthField("Its height at both ends; 0 with `peak` is a triangle.")
    peak = LengthField("Its height in the middle, above `height`, where it has a gable.", least=1)
    outline = Many(
        "Its corners in turn, each as [along, up] from the wall's zero; instead of `width`. The first may stand again "
        "at the end.",
        Many("", LengthField(least=-PLACE), 2, 2, words="must be [along, up]"),
        3,
        limits.CORNERS,
        what="points",
    )
    left = BorderField("What it meets at its left end, seen facing it from outside.", required=True)
    right = BorderField("What it meets at its right end.", required=True)
    bottom = BorderField("What it meets at its bottom.", default=Meeting.STARTER)
    top = BorderField("What it meets at its level top edges.", default=Meeting.SOFFIT)
    rake = BorderField("What it meets at sloping edges.", default=Meeting.CHANNEL)
    step = BorderField("What it meets at upright edges between its ends.", default=Meeting.CHANNEL)
    edges = Many("What single edges meet that differ from the sides.", EdgeSchema, 0, limits.CORNERS, default=[])
    openings = Many("What interrupts its courses.", OpeningSchema, 0, limits.OPENINGS, default=[])
    elevation = LengthField("Its zero above the house's level line; negative below it.", least=-PLACE, default=0)
    finish = Choice(FINISH, Finish, default=Finish.TRIM)
    viewed_from = PlaceField(
        "From where it is seen: `left`, `right`, a position along it from its zero, or null for no preference.",
        allow_none=True, default=None,
    )  # fmt: skip
    grade = LengthField(
        "Height of the ground above its zero, to warn of siding too near to it; null is not watched.",
        least=-PLACE, allow_none=True, default=None,
    )  # fmt: skip

    panel = Id(
        "What it is covered with: the material of one of `panels`; null is the panel in use.",
        allow_none=True, default=None,
    )  # fmt: skip

    @validates_schema
    def _one_shape(self, data: Mapping[str, Any], **_: object) -> None:
        given = {name for name in _SIZES if name in data}
        if given not in ({"outline"}, {"width", "height"}, {"width", "height", "peak"}):
            words = "needs width and height (and a peak above that height for a gable), or an outline"
            raise ValidationError(Fault(f"wall {data.get('id', '')} {words}", "needs_another"))
        if "peak" in given and ticks(data["peak"]) <= ticks(data["height"]):
            words = f"wall {data.get('id', '')}: its gable is no higher than its eaves; measure both from the same line"
            raise ValidationError({"peak": [Fault(words, "peak_too_low")]})


class PanelSchema(WireSchema):
    """What else walls are covered with than the panel in use; how it hangs is its material's category."""

    material = Id(
        "Which material. Of category `vertical` it hangs upright, side by side; of `shake`, in level rows of short "
        "panels; of `insulated` and `siding`, in level courses.",
        required=True,
    )  # fmt: skip
    exposure = LengthField("What shows of one, from lip to lip: its height, or an upright panel's width.",
                           least=1, most=_POCKET, required=True)  # fmt: skip
    hem = LengthField("How far it reaches beyond that: its nailing hem.", most=_POCKET, default=0)
    begin = Choice(
        "Where upright panels begin: `left`, with a whole one in a starter at the left corner; `balanced`, with equal "
        "rips at both corners.",
        Begin, default=Begin.LEFT,
    )  # fmt: skip


def panel_of(data: Mapping[str, Any]) -> Panel:
    """Return the panel that ``PanelSchema`` loaded."""
    return Panel(**plain(data))


class CeilingSchema(WireSchema):
    """A soffit ceiling, measured between the walls and beams that its channels are nailed to."""

    id = Id(_NAME, required=True)
    length = LengthField("Its longer side as named here.", least=1, required=True)
    width = LengthField("Its other side.", least=1, required=True)
    panels = Choice("Which side the panels run along, `length` or `width`.", Along, default=Along.WIDTH)
    last = Choice(
        "Where the panel that is too wide is ripped: at `one` side, or at `both` by equal rips.",
        LastPanel, default=LastPanel.ONE,
    )  # fmt: skip
    takes_up = LengthField(
        "What one channel takes from the measured line to the back of its pocket.", most=_POCKET, default=0
    )
    divider = LengthField(
        "Distance between the pockets of a back-to-back channel, where the span is divided.", most=_POCKET, default=0
    )
    nailers = Count("How many lines to nail to are there already, across the panels.", 0, limits.COURSES, default=0)


_CORNER = (
    "How its soffit turns that corner: `none`, it ends at the wall's corner; `mitred`, both eaves are cut at 45 "
    "degrees; `square`, this eave carries on over the corner. At an inside corner: `inside_mitred`, both are cut; "
    "`inside_square`, this eave runs on to the other wall; `inside_butt`, this eave ends at the other's fascia."
)


_SHARED = (
    "Name of that corner, shared by the two eaves that meet there: its mitre is counted once, by both overhangs. "
    "Without a name it is taken to meet an eave of its own overhang."
)


class EaveSchema(WireSchema):
    """An eave: its length along the wall, its overhang, its corners."""

    id = Id(_NAME, required=True)
    length = LengthField("Its length along the wall.", least=1, required=True)
    overhang = LengthField("From the wall to the subfascia.", least=1, required=True)
    left = Choice(_CORNER, EaveCorner, default=EaveCorner.NONE)
    right = Choice(_CORNER, EaveCorner, default=EaveCorner.NONE)
    fascia = Flag("Whether fascia is wanted for it.", default=True)
    left_corner = Id(_SHARED, allow_none=True, default=None)
    right_corner = Id(_SHARED, allow_none=True, default=None)


def measured_wall_of(data: Mapping[str, Any]) -> Wall:
    """Return the wall that ``MeasuredWallSchema`` loaded."""
    given = {name: ticks(value) for name, value in data.items() if name not in _SIZES}
    given["outline"] = _outline({name: ticks(data[name]) for name in _SIZES if name in data})
    given["openings"] = tuple(map(_opening_of, data.get("openings", ())))
    given["edges"] = {entry["edge"]: border_of(entry) for entry in data.get("edges", ())}
    return Wall(**given)


_SIZES = ("width", "height", "peak", "outline")


def _outline(sizes: Mapping[str, Any]) -> tuple[Point, ...]:
    """Return the ring of a wall's corners; where its list comes back to its first point, that is one corner."""
    if "outline" not in sizes:
        peak = sizes.get("peak")
        whole = rectangle(sizes["width"], sizes["height"])
        return whole if peak is None else gable(sizes["width"], sizes["height"], peak)
    points = tuple(Point(x.ticks, y.ticks) for x, y in sizes["outline"])
    return points[:-1] if len(points) > 3 and points[0] == points[-1] else points


def _opening_of(data: Mapping[str, Any]) -> Opening:
    given = plain(data)
    given["takes_up"] = Pockets(**plain(data.get("takes_up", {})))
    given.setdefault("own_channel", data["kind"] is OpeningKind.FIXTURE)
    return Opening(**given)


def ceiling_of(data: Mapping[str, Any]) -> Ceiling:
    """Return the ceiling that ``CeilingSchema`` loaded."""
    return Ceiling(**plain(data))


def eave_of(data: Mapping[str, Any]) -> Eave:
    """Return the eave that ``EaveSchema`` loaded."""
    return Eave(**plain(data))
