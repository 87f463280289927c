"""A plan at work on the wire: how far each piece is, by the ticks of whoever cuts and hangs it; what became otherwise.

That is what was miscut, broken, or did not come, from which the rest is planned.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

from marshmallow import ValidationError

from service.http.problems import refused
from service.views.pieces import Piece, Pieces
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.fields import Choice, Fault, Id, Json, Many, Moment, Words
from service.wire.job import RackField
from service.wire.numbers import STICK, Count, LengthField, SaidLength, in_units
from service.wire.plans.cutting import answering
from solver.job import Job
from solver.lengths import Rounding, Unit
from workers.orders.ticks import UNTOUCHED, Change, PieceState, Tick

STATES = (
    "`to_cut`, nobody ticked it; `cut`; `hung`, it is where it goes; `miscut`, it is spoiled and has to be cut again."
)


@dataclass(frozen=True, slots=True)
class Ticked:
    """A piece with how far it is."""

    piece: Piece
    tick: Tick


class TickedSchema(WireSchema):
    """A piece of a plan, and how far it is."""

    piece = Id("Its name in addresses: its stick, and which cut of it.", of=attrgetter("piece.id"))
    name = Words("What it is called on the sheets.", of=attrgetter("piece.name"))
    material = Words("Its material.", of=attrgetter("piece.material"))
    length = LengthField("Its cut length.", of=attrgetter("piece.length"))
    text = SaidLength("That length as a person says it.", of=attrgetter("piece.length"))
    stick = Words("The stick that it is cut from.", of=attrgetter("piece.stick"))
    where = Words("Where it goes, as far as that is known.", of=attrgetter("piece.where"))
    state = Choice(STATES, PieceState, of=attrgetter("tick.state"))
    at = Moment("Since when; null where nobody ticked it.", of=attrgetter("tick.at"), allow_none=True)
    by = Words("Who ticked it, where that is known.", of=attrgetter("tick.by"))


class TickedListSchema(WireSchema):
    """A page of the pieces of a plan, and how far each is."""

    count = Count("How many pieces the plan has.")
    after = Count("How many of them come before this page.")
    pieces = Many("The pieces of this page, stick by stick.", TickedSchema)


class TickSchema(WireSchema):
    """A piece that was ticked."""

    piece = Id("Which piece.", required=True)
    before = Choice(
        f"What it was taken to be; where it is something else by now, nothing is changed. {STATES}", PieceState,
        required=True,
    )  # fmt: skip
    state = Choice(STATES, PieceState, required=True)


class TicksSchema(WireSchema):
    """Ticks, in the order in which they were made."""

    ticks = Many("The ticks.", TickSchema, 1, limits.TICKS, required=True)


_TICKS, _TICKED = TicksSchema(), TickedListSchema()


def read_ticks(body: Mapping[str, Any], pieces: Pieces) -> tuple[Change, ...]:
    """Return the ticks of a request. Raises ``Problem`` naming every fault at once, and every unknown piece."""
    try:
        loaded = _TICKS.load(body)["ticks"]
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    unknown = {"piece": [Fault("no piece of this plan", "id_unknown")]}
    strangers = {place: unknown for place, tick in enumerate(loaded) if pieces.place(tick["piece"]) is None}
    if strangers:
        raise refused(field_errors({"ticks": strangers}))
    return tuple(Change(tick["piece"], tick["before"], tick["state"]) for tick in loaded)


def render_ticked(
    job: Job, pieces: Sequence[Piece], ticks: Mapping[str, Tick], count: int | None = None, after: int = 0
) -> Json:
    """Return pieces of a plan with how far each is; of a page, those ``after`` so many of ``count``."""
    page = [Ticked(piece, ticks.get(piece.id, UNTOUCHED)) for piece in pieces]
    with answering(job):
        answer: Json = _TICKED.dump({"count": len(pieces) if count is None else count, "after": after, "pieces": page})
    return answer


_USABLE = 20
"""Stretches of one stick or piece that can be used."""


def _usable(what: str) -> Many:
    length = LengthField(least=1, most=STICK, rounding=Rounding.DOWN)
    return Many(f"Lengths of {what} that can be used; none is none of it.", length, 0, _USABLE, default=[])


class MiscutSchema(WireSchema):
    """A piece that was cut wrongly: it is wanted again."""

    piece = Id("Which piece.", required=True)
    usable = _usable("it")


class BrokenSchema(WireSchema):
    """A stick that broke, or was lost."""

    stick = Id("Which stick of the plan.", required=True)
    usable = _usable("what was not cut of it yet")


class NotDeliveredSchema(WireSchema):
    """Sticks that were ordered and did not come."""

    material = Id("Of which material.", required=True)
    stock = Id("Which stock length, by id.", required=True)
    count = Count("How many did not come.", 1, limits.STICKS_AT_HAND, required=True)


class ContinuationSchema(WireSchema):
    """What has become of a plan, besides what is ticked; numbers are in the units of its request."""

    cut = Many("Pieces that are cut.", Id(), 0, limits.PIECES, what="pieces", default=[])
    miscut = Many("Pieces that were cut wrongly.", MiscutSchema, 0, limits.OFFCUTS, default=[])
    broken = Many("Sticks that broke.", BrokenSchema, 0, limits.OFFCUTS, default=[])
    not_delivered = Many("What did not come.", NotDeliveredSchema, 0, limits.STOCK_ROWS, default=[])
    rack = RackField("What may be used of the rack, as in a request; left out, what the plan was asked with.")


def read_continuation(body: Mapping[str, Any], unit: Unit) -> Mapping[str, Any]:
    """Return what a request reports, field by field. Raises ``Problem`` naming every fault at once."""
    try:
        with in_units(unit):
            return ContinuationSchema().load(body)  # type: ignore[no-any-return]
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
