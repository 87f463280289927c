"""What is wanted, on the wire: pieces and runs, their ends, and the walls they are on."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from marshmallow import validates_schema

from service.wire import limits
from service.wire.base import WireSchema, told
from service.wire.fields import Choice, Described, Id, Json, Many, Text, Written, wrong
from service.wire.fields import Side as ContractSide
from service.wire.numbers import PLACE, Count, LengthField, PlaceField, plain, ticks
from solver.job import Wall
from solver.lengths import Unit
from solver.required import LONGEST_MARK, CutOut, Edge, End, KeepClear, Keeps, Meets, Required, Ripped, Side, Slope

_PITCH = re.compile(r"(\d{1,3}(?:\.\d{1,3})?)\s*/\s*(\d{1,3}(?:\.\d{1,3})?)")
MEETS = (
    "`plain`, nothing is added or taken; `channel`, measured to the back of the pocket, so that the expansion gap is "
    "taken off; `lap`, the next panel laps it, so that the lap is added"
)


class PitchField(Described):
    """A pitch written as rise over run, ``6/12``."""

    def _deserialize(self, value: object, *_: object, **__: object) -> Fraction:
        match = _PITCH.fullmatch(value.strip()) if isinstance(value, str) else None
        if match is None or not Fraction(match[2]) or not Fraction(match[1]):
            raise wrong("wrong_form", 'must be rise over run, as in "6/12"')
        return Fraction(match[1]) / Fraction(match[2])

    def _serialize(self, value: Fraction | None, *_: object, **__: object) -> str | None:
        return None if value is None else pitch(value)

    def shape(self, side: ContractSide) -> Json:
        """Text of two numbers."""
        del side
        return {"type": "string", "pattern": rf"^\s*{_PITCH.pattern}\s*$", "examples": ["6/12"]}


class SlopedEndSchema(WireSchema):
    """A sloped end."""

    meets = Choice(f"What the end meets: {MEETS}.", Meets, required=True)
    pitch = PitchField(
        "Rise over run, such as `6/12` or `4.5/12`; both are more than 0.",
        of=lambda end: end.slope.pitch, required=True,
    )  # fmt: skip
    leans = Choice(
        "To which side the upper end of the cut leans, `left` or `right`, seen facing the wall from outside.",
        Side, of=lambda end: end.slope.leans, required=True,
    )  # fmt: skip
    long_edge = Choice(
        "Which edge of the panel is the longer one there, `top` or `bottom`; `length` is measured along it.",
        Edge, without=(Edge.HOLE,), of=lambda end: end.slope.long_edge, required=True,
    )  # fmt: skip
    upright = LengthField(
        "How much of the end is plumb, from the long edge, before the slope begins.",
        default=0, of=lambda end: end.slope.upright or None, sparse=True,
    )  # fmt: skip


class EndField(Described):
    """What an end meets: a word, or an object for a sloped end."""

    _word = Choice("", Meets)
    _sloped = SlopedEndSchema()

    def _deserialize(self, value: object, *_: object, **__: object) -> End:
        if not isinstance(value, dict):
            return End(self._word.deserialize(value))
        sloped = plain(self._sloped.load(value))
        return End(sloped.pop("meets"), Slope(**sloped))

    def _serialize(self, value: End | None, *_: object, **__: object) -> str | Json | None:
        if value is None or value.slope is None:
            return None if value is None else value.meets
        sloped: Json = self._sloped.dump(value)
        return sloped

    def shape(self, side: ContractSide) -> Json:
        """A word or a sloped end."""
        return {"anyOf": [self._word.shape(side), side.ref(SlopedEndSchema)]}


class WallSchema(WireSchema):
    """A wall; laps on it face away from where it is seen."""

    id = Id("Name of the wall, given once in the request.", required=True)
    viewed_from = PlaceField(
        "From where it is seen: `left`, `right`, a position along the wall from its zero, or null for no preference. "
        "Panels are laid towards there, the later one on top.",
        allow_none=True, default=None,
    )  # fmt: skip


_FROM = "Where it begins, along the wall from its zero."
_TO = "Where it ends, along the wall from its zero; beyond `from`."


class KeepClearSchema(WireSchema):
    """A stretch of a wall where some courses may have no lap."""

    start = LengthField(_FROM, least=-PLACE, required=True, data_key="from")
    end = LengthField(_TO, least=-PLACE, required=True, data_key="to")
    first = Count("The lowest course with no lap there; 1 is in the starter.", 1, limits.COURSES, required=True)
    last = Count("The highest such course; not below `first`.", 1, limits.COURSES, required=True)

    @validates_schema
    def _order(self, data: Mapping[str, Any], **_: object) -> None:
        _ascending(data)
        if data["last"] < data["first"]:
            raise wrong("wrong_order", "must not be before first", "last")


EDGE = "From which edge of the panel it is taken, `top` or `bottom`, or `hole` in its face."


class CutOutSchema(WireSchema):
    """What is taken out of a panel for an opening or a block, between two places along the wall."""

    start = LengthField(_FROM, least=-PLACE, required=True, data_key="from")
    end = LengthField(_TO, least=-PLACE, required=True, data_key="to")
    edge = Choice(EDGE, Edge, required=True)
    height = LengthField(
        "How high in the panel it ends, above the lip; of a hole its lower edge.", least=1, required=True
    )
    course = Count("In which course; null is every one of them.", 1, limits.COURSES, allow_none=True, default=None)
    top = LengthField(
        "Upper edge of a hole, above the lip; null where it is not known.",
        allow_none=True, default=None, data_key="upper_edge",
    )  # fmt: skip

    @validates_schema
    def _order(self, data: Mapping[str, Any], **_: object) -> None:
        _ascending(data)
        if data.get("top") is not None and data["top"].ticks <= data["height"].ticks:
            raise wrong("wrong_order", "must be above height", "upper_edge")


KEEPS = "What it keeps: `lip`, its lower edge, or `hem`, its nailing hem."


class RippedSchema(WireSchema):
    """A panel ripped lengthwise, along its whole stretch."""

    left = LengthField("What is left of its width at the left end of its stretch.", least=1, required=True)
    right = LengthField("What is left of its width at the right end.", least=1, required=True)
    keeps = Choice(KEEPS, Keeps, required=True)
    course = Count("In which course; null is every one of them.", 1, limits.COURSES, allow_none=True, default=None)


def _on_wall(name: str, usual: int) -> Callable[[Required], int | None]:
    """Return what says a place of an item: always on a wall, else where it is not as usual."""

    def place(item: Required) -> int | None:
        value: int = getattr(item, name)
        return value if item.wall is not None or value != usual else None

    return place


class RequiredSchema(WireSchema):
    """Several identical pieces or runs of one material, on a wall or not."""

    mark = Text("What is written on each piece; left out or empty, its place in the list from 1.", 0, LONGEST_MARK)
    ref = Text("The caller's own reference, repeated beside the pieces.", allow_none=True, default=None, sparse=True)
    words = Written(
        "What the customer wrote of it, as it came: kept with the plan and shown beside what is cut.",
        default="", of=lambda item: item.words or None, sparse=True,
    )  # fmt: skip
    material = Id("Which material, by id.", required=True)
    length = LengthField(
        "The stretch as measured, along its longer edge where an end slopes. What each is cut at follows from its "
        "ends. What is longer than a stick is a run of several lapped pieces.",
        least=1, required=True,
    )  # fmt: skip
    quantity = Count("How many alike.", 1, limits.QUANTITY, default=1)
    left_end = EndField(
        f"What the left end meets, seen facing the wall from outside: {MEETS}; an object where it slopes.",
        default=Meets.PLAIN,
    )
    right_end = EndField("What the right end meets, as `left_end`.", default=Meets.PLAIN)
    room = LengthField(
        "Length kept in the stick with each piece but not cut: for pieces measured again before they are cut. "
        "A run, which takes several sticks, has none.",
        of=lambda item: item.room or None, sparse=True, default=0,
    )  # fmt: skip
    wall = Id("Which of `walls` it is on, by id; null is none.", allow_none=True, default=None, sparse=True)
    start = LengthField(
        "Where it begins, along the wall from its zero.", least=-PLACE, default=0, of=_on_wall("start", 0), sparse=True
    )
    first_course = Count(
        "The lowest course it is; 1 is in the starter. Null is 1 where there are several `courses`, else none.",
        1, limits.COURSES, allow_none=True, default=None, sparse=True,
    )  # fmt: skip
    courses = Count(
        "How many such courses lie one above the other; each takes `quantity` pieces.",
        1, limits.COURSES, default=1, of=_on_wall("courses", 1), sparse=True,
    )  # fmt: skip
    keep_clear = Many(
        "Where its courses may have no lap: under and over openings.",
        KeepClearSchema, 0, limits.MARKS_ON_WALL, sparse=True, default=[],
    )  # fmt: skip
    cut_outs = Many(
        "What is taken out of its panels; the answer says which piece carries each.",
        CutOutSchema, 0, limits.MARKS_ON_WALL, sparse=True, default=[],
    )  # fmt: skip
    rips = Many(
        "How its panels are ripped lengthwise; repeated on the cut sheet.",
        RippedSchema, 0, limits.MARKS_ON_WALL, sparse=True, default=[],
    )  # fmt: skip

    @validates_schema
    def _needs_wall(self, data: Mapping[str, Any], **_: object) -> None:
        if data.get("keep_clear") and not data.get("wall"):
            raise wrong("needs_another", "needs a wall to be on", "keep_clear")


def required_of(data: Mapping[str, Any], place: int) -> Required:
    """Return the item that ``RequiredSchema`` loaded; without a mark it is called by its place from 1."""
    given = plain(data)
    given["mark"] = data.get("mark") or str(place)
    given["keep_clear"] = tuple(KeepClear(**plain(entry)) for entry in data.get("keep_clear", ()))
    given["cut_outs"] = tuple(CutOut(**plain(entry)) for entry in data.get("cut_outs", ()))
    given["rips"] = tuple(Ripped(**plain(entry)) for entry in data.get("rips", ()))
    return Required(**given)


_WALL, _ITEM = WallSchema(), RequiredSchema()


def render_wall(wall: Wall, unit: Unit) -> Json:
    """Return a wall as a plan is asked for it."""
    return told(_WALL, wall, unit)


def render_required(item: Required, unit: Unit) -> Json:
    """Return an item as a plan is asked for it; what is as by default is left out."""
    return told(_ITEM, item, unit)


def wall_of(data: Mapping[str, Any]) -> Wall:
    """Return the wall that ``WallSchema`` loaded."""
    return Wall(data["id"], ticks(data.get("viewed_from")))


def pitch(rise_over_run: Fraction) -> str:
    """Return a pitch as rise over run, ``6/12``; what is no thousandth of such as its two numbers, if they are short.

    All else is told to a thousandth, steep ones as a rise of 12 over less.
    """
    rise, run = rise_over_run.as_integer_ratio()
    if rise * 12_000 % run and max(rise, run) < 1_000:
        return f"{rise}/{run}"
    if rise_over_run <= 80:
        return f"{_short(rise_over_run * 12)}/12"
    return f"12/{_short(12 / rise_over_run)}"


def _short(number: Fraction) -> str:
    return f"{max(0.001, float(round(number, 3))):.3f}".rstrip("0").rstrip(".")


def _ascending(data: Mapping[str, Any]) -> None:
    if data["end"].ticks <= data["start"].ticks:
        raise wrong("wrong_order", "must be beyond from", "to")
