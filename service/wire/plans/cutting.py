"""How sticks are cut, on the wire: patterns with their sticks, and runs with their laps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from operator import attrgetter
from typing import Any

from marshmallow import EXCLUDE

from service.wire import limits
from service.wire.base import WireSchema
from service.wire.fields import Choice, Described, Flag, Id, Json, Many, One, Text
from service.wire.fields import Side as ContractSide
from service.wire.materials.material import FACTORY_END
from service.wire.numbers import PLACE, STICK, Count, LengthField, SaidLength, in_units
from service.wire.required import EDGE
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import CutEnd, PatternUse
from solver.required import Edge, Side
from solver.runs import PieceCutOut, Run
from solver.sticks import StickUse

JOB: ContextVar[Job] = ContextVar("job")
"""The job whose plan is being written."""
ITEM = "Which item, by its place in the request's `required` from 0."
MARK = "The item's mark."
SAID = "The same as a person would say it."


@contextmanager
def answering(job: Job) -> Iterator[None]:
    """Write what was planned for this job."""
    token = JOB.set(job)
    try:
        with in_units(job.units):
            yield
    finally:
        JOB.reset(token)


def ref_of(entry: Any) -> str | None:  # noqa: ANN401 - whatever names an item
    """Return the caller's own reference of the item that an entry is about."""
    ref: str | None = JOB.get().required[entry.item].ref
    return ref


REF = "The caller's own reference of the item, where it gave one."


class PlanPartSchema(WireSchema):
    """A part of a plan. Read for a check, it passes over what only says again what other fields imply."""

    class Meta:
        """Other fields are no fault."""

        unknown = EXCLUDE

    sent_again = False


class FromSchema(PlanPartSchema):
    """What a pattern is cut from."""

    stock = Text("Which stock length, by id; null is an offcut on hand.", allow_none=True, required=True)
    stock_length = LengthField("How long it is.", least=1, most=STICK, required=True, data_key="length")
    text = SaidLength(SAID, of=attrgetter("stock_length"))
    factory_end = Choice(FACTORY_END, FactoryEnd)


_CUT_END = "How that end came about: `factory`, as manufactured, or `field`, by this cutting."


class CutSchema(PlanPartSchema):
    """One cut of a pattern; cuts run from the stick's left end."""

    length = LengthField("Length of the piece.", least=1, most=STICK, required=True)
    text = SaidLength(SAID, of=attrgetter("length"))
    left = Choice(_CUT_END, CutEnd, required=True)
    right = Choice(_CUT_END, CutEnd, required=True)
    room = LengthField(
        "Length kept in the stick beside the piece but not cut.",
        most=STICK, of=lambda cut: cut.room or None, sparse=True,
    )  # fmt: skip


class LeftOverSchema(PlanPartSchema):
    """What is left of a stick."""

    length = LengthField("How long it is; 0 where the stick is used up.", most=STICK, required=True)
    text = SaidLength(SAID, of=attrgetter("length"))
    keep = Flag("Whether it is long enough to keep; else it is scrap.", required=True)
    factory_end = Choice(FACTORY_END, FactoryEnd, required=True)
    after = Count("How many cuts lie to its left.", 0, limits.PIECES, required=True)


class PlacedPieceSchema(PlanPartSchema):
    """The item a cut belongs to."""

    item = Count(ITEM, 0, limits.LINES, required=True)
    mark = Text(MARK)
    course = Count("Its course; null where the item names none.", 1, limits.COURSES, allow_none=True)
    piece = Count("Its number from 1 within item and course.", 1, limits.PIECES, required=True)
    ref = Text(REF, of=ref_of, dump_only=True, sparse=True)


class StickSchema(PlanPartSchema):
    """One stick; its pieces parallel the pattern's cuts."""

    stick = Id("Its number within the plan.", required=True)
    offcut_id = Text("Which offcut on hand it is, by id; null is a new stick.", allow_none=True)
    pieces = Many("What each cut is for.", PlacedPieceSchema, 0, limits.PIECES, required=True)


class PatternSchema(PlanPartSchema):
    """Sticks that are cut alike."""

    count = Count("How many sticks are cut so.", dump_only=True)
    source = One("What each is cut from.", FromSchema, required=True, data_key="from", of=lambda use: use)
    cuts = Many("The cuts, from the left end.", CutSchema, 0, limits.PIECES, required=True)
    left_over = One("What is left of each.", LeftOverSchema, required=True, data_key="offcut")
    sticks = Many(
        "The sticks one by one; left out of plans of many sticks, and always under `/sticks`.",
        StickSchema, 0, limits.PIECES, required=True, sparse=True,
    )  # fmt: skip


class _OfMaterialSchema(PlanPartSchema):
    material = Id("Which material, by id.")


class OneStickSchema(StickSchema, _OfMaterialSchema):
    """One stick by itself, with its cuts and what each is for."""

    source = One("What it is cut from.", FromSchema, data_key="from")
    cuts = Many("The cuts, from the left end.", CutSchema)
    left_over = One("What is left of it.", LeftOverSchema, data_key="offcut")


_ONE_STICK, _STICK = OneStickSchema(), StickSchema()


def render_alike(material: str, use: PatternUse, sticks: Sequence[StickUse]) -> list[Json]:
    """Return some sticks of a pattern, each by itself: how they are cut is worked out once for all."""
    if not sticks:
        return []
    own = {"stick": "", "offcut_id": None, "pieces": ()}
    alike = _ONE_STICK.dump({"material": material, **own, "source": use, "cuts": use.cuts, "left_over": use.left_over})
    return [{**alike, **_STICK.dump(stick)} for stick in sticks]


class RunPieceSchema(PlanPartSchema):
    """One piece of a run."""

    length = LengthField("Its length.", least=1, most=STICK, required=True)
    stick = Id("Which stick it is cut from.", required=True)
    cut = Count("Which cut of that stick, from 1 at its left.", 1, limits.PIECES, required=True)


class SidesField(Described):
    """One side for all laps, or a list with one for each."""

    _side = Choice("", Side)

    def _deserialize(self, value: object, *_: object, **__: object) -> tuple[Side, ...]:
        sides = value if isinstance(value, list) else [value]
        return tuple(self._side.deserialize(side) for side in sides)

    def _serialize(self, value: Sequence[Side] | None, *_: object, **__: object) -> str | list[str]:
        return value[0] if value and len(set(value)) == 1 else [*(value or ())]

    def shape(self, side: ContractSide) -> Json:
        """A side, or sides."""
        one = self._side.shape(side)
        return {"anyOf": [one, {"type": "array", "items": one}]}


class PieceCutOutSchema(PlanPartSchema):
    """A cut-out given back from the ends of the piece that carries it."""

    cut_out = Count("Which one, by its place in the item's `cut_outs` from 0.", 0, limits.MARKS_ON_WALL, required=True)
    piece = Count("Which piece of the run carries it, from 1.", 1, limits.COURSES, required=True)
    from_left = LengthField("Distance from the piece's left end to its left side.", least=-PLACE, required=True)
    from_right = LengthField("Distance from the piece's right end to its right side.", least=-PLACE, required=True)
    edge = Choice(EDGE, Edge, dump_only=True)
    height = LengthField("How high it is.", dump_only=True)


class RunSchema(PlanPartSchema):
    """One course of one item, covered by several pieces from left to right."""

    item = Count(ITEM, 0, limits.LINES, required=True)
    mark = Text(MARK, dump_only=True)
    wall = Text("The wall it is on, by id; null is none.", dump_only=True, allow_none=True)
    course = Count("Its course; null where the item names none.", 1, limits.COURSES, allow_none=True)
    pieces = Many("Its pieces, from the left.", RunPieceSchema, 0, limits.COURSES, required=True)
    lap = LengthField("The lap that it was cut by; negative is a gap.", least=-PLACE, required=True)
    end_gap = LengthField("The expansion gap that it was cut by, at ends in a channel.", least=-PLACE, required=True)
    starts_at = LengthField("Where its first piece begins, along the wall from its zero.", least=-PLACE, required=True)
    laps_at = Many(
        "Where its laps are: left end of each right-hand piece, along the wall from its zero.",
        LengthField(least=-PLACE), required=True,
    )  # fmt: skip
    first = Choice(
        "Which end is laid first: `left` or `right`; null where both are.",
        Side, of=lambda run: _first(run.on_top), dump_only=True, allow_none=True,
    )  # fmt: skip
    on_top = SidesField(
        "Side of the panel that lies on top at every lap; a list with one side for each where the wall is seen from "
        "between.",
        required=True,
    )
    cut_outs = Many(
        "What is taken out of its pieces.", PieceCutOutSchema, 0, limits.MARKS_ON_WALL,
        of=lambda run: [_cut_out(run, cut_out) for cut_out in run.cut_outs],
    )  # fmt: skip


def _first(on_top: Sequence[Side]) -> Side | None:
    if len(set(on_top)) != 1:
        return None
    return Side.RIGHT if on_top[0] is Side.LEFT else Side.LEFT


def _cut_out(run: Run, carried: PieceCutOut) -> Mapping[str, object]:
    return {
        "cut_out": JOB.get().required[run.item].cut_outs.index(carried.cut_out),
        "piece": carried.piece,
        "from_left": carried.from_left,
        "from_right": carried.from_right,
        "edge": carried.cut_out.edge,
        "height": carried.cut_out.height,
    }
