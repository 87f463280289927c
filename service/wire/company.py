"""A client's own settings on the wire."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError

from service.documents.blocks import Paper
from service.problems import refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.fields import Choice, Json, Many, Text
from service.wire.numbers import Amount, Count
from workers.company import Company
from workers.particulars import Handover


class CompanySchema(WireSchema):
    """Whose orders these are: what stands on sheets, and how orders are made where nobody says otherwise."""

    name = Text("What the company is called; it stands at the head of orders and sheets.", default="")
    address = Many("Its address, line by line.", Text(), 0, limits.ADDRESS_LINES, default=[])
    phone = Text("Its telephone number.", default="")
    email = Text("Its e-mail address.", default="")
    tax_name = Text("What the tax on an order is called.", least=1, default="Tax")
    tax_percent = Amount("Per cent of tax that are added to an order's total; 0 for none.", 100, 4, default="0")
    note = Text("A sentence that stands below every order.", most=limits.NOTE, default="")
    handover = Choice("How goods come to the customer where an order says nothing.", Handover, allow_none=True,
                      default=None)  # fmt: skip
    ready_days = Count("Working days, Monday to Friday, until an order from stock is ready; null where that is not "
                       "said.", 0, limits.READY_DAYS, allow_none=True, default=None)  # fmt: skip
    paper = Choice("The paper of sheets where nobody asks for another: `letter` or `a4`; null for what goes with a "
                   "job's units.", Paper, allow_none=True, default=None)  # fmt: skip


_SCHEMA = CompanySchema()


def read_company(body: Mapping[str, Any]) -> Company:
    """Return the settings that a request puts. Raises ``Problem`` naming every fault at once."""
    try:
        loaded = _SCHEMA.load(body)
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    return Company(**loaded | {"address": tuple(loaded.get("address", ()))})


def render_company(company: Company) -> Json:
    """Return a client's settings."""
    answer: Json = _SCHEMA.dump(company)
    return answer
