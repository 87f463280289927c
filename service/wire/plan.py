"""The schema of a plan that somebody wants checked: the shape of a result, of which what follows may be left out."""

from __future__ import annotations

from typing import Any

from marshmallow import EXCLUDE, Schema, fields, validate

from service.wire import limits
from service.wire.fields import FOOT, Amount, Choice, Count, Flag, LengthField, Text
from solver.materials import FactoryEnd
from solver.plan import Basis, CutEnd, StoppedBy
from solver.required import Side

_STICK = limits.STICK_FEET * FOOT
_PLACE = limits.STRETCH_FEET * FOOT
_MOST_VALUE = 10**30
_MOST_SETS = 100
_MOST_COST = 10**12


class PlanPartSchema(Schema):
    """A part of a result; fields that only say again what others imply are not read here (see ``service.stated``)."""

    class Meta:
        """Other fields are no fault."""

        unknown = EXCLUDE


def _many(schema: type[PlanPartSchema], most: int, **settings: Any) -> fields.List[Any]:  # noqa: ANN401
    return _list_of(fields.Nested(schema), most, **settings)


def _list_of(entry: fields.Field[Any], most: int, **settings: Any) -> fields.List[Any]:  # noqa: ANN401
    return fields.List(entry, validate=_at_most(most), **settings)


def _at_most(entries: int) -> validate.Length:
    return validate.Length(0, entries, error="must have {max} entries at most")


class FromSchema(PlanPartSchema):
    """What a pattern is cut from; ``stock`` null is an offcut on hand."""

    stock = Text(allow_none=True, required=True)
    length = LengthField(least=1, most=_STICK, required=True)
    factory_end = Choice(FactoryEnd)


class CutSchema(PlanPartSchema):
    """One cut of a pattern."""

    length = LengthField(least=1, most=_STICK, required=True)
    left = Choice(CutEnd, required=True)
    right = Choice(CutEnd, required=True)
    room = LengthField(most=_STICK)


class LeftOverSchema(PlanPartSchema):
    """What is left of a stick."""

    length = LengthField(most=_STICK, required=True)
    keep = Flag(required=True)
    factory_end = Choice(FactoryEnd, required=True)
    after = Count(0, limits.PIECES, required=True)


class PlacedPieceSchema(PlanPartSchema):
    """Whom a cut is for."""

    item = Count(0, limits.LINES, required=True)
    mark = Text()
    course = Count(1, limits.COURSES, allow_none=True)
    piece = Count(1, limits.PIECES, required=True)


class StickSchema(PlanPartSchema):
    """One stick; its pieces parallel the pattern's cuts."""

    stick = Text(1, limits.ID, required=True)
    offcut_id = Text(allow_none=True)
    pieces = _many(PlacedPieceSchema, limits.PIECES, required=True)


class PatternSchema(PlanPartSchema):
    """Sticks cut alike."""

    source = fields.Nested(FromSchema, required=True, data_key="from")
    cuts = _many(CutSchema, limits.PIECES, required=True)
    left_over = fields.Nested(LeftOverSchema, required=True, data_key="offcut")
    sticks = _many(StickSchema, limits.PIECES, required=True)


class RunPieceSchema(PlanPartSchema):
    """One piece of a run."""

    length = LengthField(least=1, most=_STICK, required=True)
    stick = Text(1, limits.ID, required=True)
    cut = Count(1, limits.PIECES, required=True)


class SidesField(fields.Field[tuple[Side, ...]]):
    """One side for all laps, or a list with one for each."""

    _side = Choice(Side)

    def _deserialize(self, value: object, attr: str | None, data: Any, **_: object) -> tuple[Side, ...]:  # noqa: ANN401
        sides = value if isinstance(value, list) else [value]
        return tuple(self._side.deserialize(side, attr, data) for side in sides)


class PieceCutOutSchema(PlanPartSchema):
    """A cut-out given back from the ends of the piece that carries it; ``cut_out`` is its place in the item's list."""

    cut_out = Count(0, limits.MARKS_ON_WALL, required=True)
    piece = Count(1, limits.COURSES, required=True)
    from_left = LengthField(least=-_PLACE, required=True)
    from_right = LengthField(least=-_PLACE, required=True)


class RunSchema(PlanPartSchema):
    """One course of one item, covered by several pieces."""

    item = Count(0, limits.LINES, required=True)
    course = Count(1, limits.COURSES, allow_none=True)
    pieces = _many(RunPieceSchema, limits.COURSES, required=True)
    lap = LengthField(least=-_PLACE, required=True)
    end_gap = LengthField(least=-_PLACE, required=True)
    starts_at = LengthField(least=-_PLACE, required=True)
    laps_at = fields.List(LengthField(least=-_PLACE), required=True)
    on_top = SidesField(required=True)
    cut_outs = _many(PieceCutOutSchema, limits.MARKS_ON_WALL)


class ValueSchema(PlanPartSchema):
    """What a piece is worth in a certificate."""

    length = LengthField(least=1, most=_STICK, required=True)
    needs_left = Flag(required=True)
    needs_right = Flag(required=True)
    value = Count(-_MOST_VALUE, _MOST_VALUE, required=True)


class ProofSchema(PlanPartSchema):
    """Why no plan costs less."""

    kind = Text(1, limits.ID, required=True)
    scale = Count(1, _MOST_VALUE)
    text = Text(0, 2_000)
    values = _many(ValueSchema, limits.LINES)
    basis = Choice(Basis)
    further = _list_of(_list_of(Count(-_MOST_VALUE, _MOST_VALUE), limits.LINES), _MOST_SETS)


class MaterialPlanSchema(PlanPartSchema):
    """One material's plan. Without ``cost`` it is what the sticks cost; without ``bound`` nothing is claimed."""

    material = Text(1, limits.ID, required=True)
    patterns = _many(PatternSchema, limits.PIECES, required=True)
    runs = _many(RunSchema, limits.PIECES)
    cost = Amount(_MOST_COST, 6)
    bound = Amount(_MOST_COST, 6)
    proof = fields.Nested(ProofSchema)
    stopped_by = Choice(StoppedBy)


class NotCutSchema(PlanPartSchema):
    """Pieces of an item that stay uncut."""

    item = Count(0, limits.LINES, required=True)
    quantity = Count(1, limits.PIECES, required=True)
    code = Text(required=True)
    detail = Text(0, 2_000)


class OrderLineSchema(PlanPartSchema):
    """What is ordered of one stock length."""

    material = Text(1, limits.ID, required=True)
    stock = Text(1, limits.ID, required=True)
    sticks = Count(0, limits.STICKS_AT_HAND, required=True)
    spares = Count(0, limits.STICKS_AT_HAND, required=True)
    cartons = Count(0, limits.STICKS_AT_HAND, required=True)
    loose = Count(0, limits.STICKS_AT_HAND, required=True)
    amount = Amount(_MOST_COST, 6, allow_none=True)


class NoticeSchema(PlanPartSchema):
    """A warning, such as a placement rule that is broken."""

    code = Text(1, limits.ID, required=True)
    detail = Text(0, 2_000)
    pointer = Text(allow_none=True)
    material = Text(allow_none=True)
    wall = Text(allow_none=True)
    course = Count(1, limits.COURSES, allow_none=True)
    place = LengthField(least=-_PLACE, allow_none=True)
    needed = LengthField(least=-_PLACE, allow_none=True)
    got = LengthField(least=-_PLACE, allow_none=True)


class PlanSchema(PlanPartSchema):
    """A plan in the shape of a result. Without ``order`` it is what the sticks come to."""

    materials = _many(MaterialPlanSchema, limits.MATERIALS, required=True)
    not_cut = _many(NotCutSchema, limits.LINES)
    order = _many(OrderLineSchema, limits.LINES, allow_none=True)
    warnings = _many(NoticeSchema, limits.PIECES)
    stopped_by = Choice(StoppedBy)
