"""What has become of a plan, on the wire: what was cut, miscut, broken, or did not come."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError

from service.http.problems import refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.fields import Id, Many
from service.wire.job import RackField
from service.wire.numbers import STICK, Count, LengthField, in_units
from solver.lengths import Rounding, Unit

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
