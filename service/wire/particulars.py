"""What is known of an order beside what is cut, on the wire, and who did what to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError

from service.problems import refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.fields import Choice, DateField, Flag, Moment, Text, Words
from workers.particulars import Act, Handover, Particulars


class ParticularsSchema(WireSchema):
    """The particulars of an order; none of them changes the plan, all of them are kept with it and are found again."""

    customer = Text("For whom it is.", default="")
    phone = Text("The customer's telephone number; found by its last four digits or more.", default="")
    purchase_order = Text("The customer's purchase order number.", default="")
    wanted_by = DateField("The day by which it is wanted.", allow_none=True, default=None)
    handover = Choice("Whether it is picked up or delivered; null where nobody said.", Handover, allow_none=True,
                      default=None)  # fmt: skip
    address = Text("Where it is delivered.", default="")
    taken_by = Text("Who took the order.", default="")
    ref = Text("The caller's own reference.", default="")
    note = Text("A note for whoever fills the order.", most=limits.NOTE, default="")
    called_off = Flag("Whether the customer has called the order off; its plan is kept, nothing is bought.",
                      default=False)  # fmt: skip


class DeedSchema(WireSchema):
    """Something that was done to a plan."""

    at = Moment("When.")
    client = Words("Whose API key was used; empty for what the workers did.")
    name = Words("Who used it, where that is known.")
    act = Choice(
        "`asked`, for the plan; `planned`, `failed`, `cancelled`, how the planning ended; `stopped`, the planning was "
        "to end with the best plan so far; `amended`, other particulars; `called_off`, and `taken_up` again, the "
        "order.",
        Act,
    )  # fmt: skip
    detail = Words("What was changed, or why there is no plan.")


_SCHEMA = ParticularsSchema()


def read_particulars(body: Mapping[str, Any]) -> Particulars:
    """Return the particulars that a request puts. Raises ``Problem`` naming every fault at once."""
    try:
        return Particulars(**_SCHEMA.load(body))
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
