"""The rack on the wire: what lies there, and what is put there or taken off."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from operator import attrgetter
from typing import Any, TypeVar

from marshmallow import ValidationError

from service.http.problems import refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.fields import Choice, Id, Json, Many, Moment, Text, Words
from service.wire.job import UNITS_ABOUT, units_of
from service.wire.materials.material import FACTORY_END
from service.wire.numbers import STICK, Count, LengthField, SaidLength, in_units, plain
from solver.lengths import Rounding, Unit
from solver.materials import FactoryEnd
from workers.rack.store import Entry, Source

T = TypeVar("T")
_LABEL = "What is written on it."


class HeldSchema(WireSchema):
    """Pieces that a plan or a week holds."""

    by = Words("Which plan, by its number, or which crew's week.")
    count = Count("How many it holds, with those that it has used.")
    used = Count("How many of those it has used up.")


class _PieceSchema(WireSchema):
    material = Id("Which material it is of, by the id that requests give it.", required=True)
    length = LengthField(
        "How long it is. What is no whole tick is rounded down.",
        least=1, most=STICK, rounding=Rounding.DOWN, required=True,
    )  # fmt: skip
    count = Count("How many there are alike.", 1, limits.QUANTITY, default=1)
    factory_end = Choice(FACTORY_END, FactoryEnd, default=FactoryEnd.NONE)
    note = Text("What there is to say of it.", default="")


class OnRackSchema(_PieceSchema):
    """Pieces alike on the rack, under one label."""

    label = Id(_LABEL)
    text = SaidLength("Its length as a person says it.", of=attrgetter("length"))
    free = Count("How many of them no plan and no week holds.")
    source = Choice(
        "Where they came from: `hand`, somebody put them there; `plan`, a plan left them over; `week`, a crew's week.",
        Source,
    )  # fmt: skip
    of = Words("Which plan and stick, or which crew's week; empty where somebody put them there.")
    at = Moment("Since when they lie there.")
    held = Many("Who holds some of them.", HeldSchema, of=attrgetter("holds"))


class OnRackListSchema(WireSchema):
    """A page of what lies on the rack."""

    count = Count("How many labels there are.")
    after = Count("How many of them come before this page.")
    pieces = Many("Those of this page, material by material, longest first.", OnRackSchema)


class RackPieceSchema(_PieceSchema):
    """Pieces alike to be put on the rack."""

    label = Id(f"{_LABEL} Left out, it gets the next number.")


class RackPiecesSchema(WireSchema):
    """Pieces to be put on the rack."""

    units = Choice(UNITS_ABOUT, Unit, required=True)
    pieces = Many("The pieces, by label; none is kept where one is wrong.", RackPieceSchema, 1, limits.OFFCUTS,
                  required=True)  # fmt: skip


class KeptByPlanSchema(WireSchema):
    """What a plan keeps, to be put on the rack."""

    of = Text(
        "A plan, by its number or `id`: all offcuts that it keeps. Or the address on the label of one of them: that "
        "one. What is there already is passed over.",
        1, required=True, data_key="from",
    )  # fmt: skip


class UseSchema(WireSchema):
    """Pieces that were used up, or thrown away."""

    count = Count("How many.", 1, limits.QUANTITY, default=1)


_LIST = OnRackListSchema()


def read_pieces(body: Mapping[str, Any]) -> tuple[Entry, ...]:
    """Return the pieces that a request puts on the rack. Raises ``Problem`` naming every fault at once."""
    with in_units(units_of(body)):
        data = _read(RackPiecesSchema().load, body)
    return tuple(Entry(**{"label": "", **plain(piece)}) for piece in data["pieces"])


def read_kept(body: Mapping[str, Any]) -> str:
    """Return the plan or the label's address that a request names. Raises ``Problem``."""
    return str(_read(KeptByPlanSchema().load, body)["of"])


def read_use(body: Mapping[str, Any]) -> int:
    """Return how many a request says were used up. Raises ``Problem``."""
    return int(_read(UseSchema().load, body).get("count", 1))


def _read(load: Callable[[Mapping[str, Any]], T], body: Mapping[str, Any]) -> T:
    try:
        return load(body)
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None


def render_rack(entries: Sequence[Entry], unit: Unit, after: int = 0, limit: int | None = None) -> Json:
    """Return a page of entries, ``limit`` of them from the one after ``after``."""
    page = entries[after : None if limit is None else after + limit]
    with in_units(unit):
        answer: Json = _LIST.dump({"count": len(entries), "after": after, "pieces": page})
    return answer
