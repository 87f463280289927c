"""What is known of an order beside what is cut, who did what to it, and a client's own settings, on the wire."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.documents.blocks import Paper
from service.http.problems import refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors, put, refuse
from service.wire.fields import Choice, DateField, Flag, Json, Many, Moment, Text, Words
from service.wire.numbers import Amount, Count
from service.wire.suppliers import SupplierSchema, named_twice, supplier_of
from workers.orders.company import Company
from workers.orders.particulars import Act, Handover, Particulars


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
        "`asked`, for the plan; `continued`, asked for it as the rest of another; `planned`, `failed`, `cancelled`, "
        "how the planning ended; `stopped`, the planning was to end with the best plan so far; `amended`, other "
        "particulars; `called_off`, and `taken_up` again, the order; `told`, its callback was answered; `not_told`, "
        "that was given up.",
        Act,
    )  # fmt: skip
    detail = Words("What was changed, why there is no plan, or what became of the callback.")


_SCHEMA = ParticularsSchema()


def read_particulars(body: Mapping[str, Any]) -> Particulars:
    """Return the particulars that a request puts. Raises ``Problem`` naming every fault at once."""
    try:
        return Particulars(**_SCHEMA.load(body))
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None


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
    suppliers = Many(
        "Whom it buys of, and what their orders come to beside goods. A request that names none has those of its "
        "materials from here.",
        SupplierSchema, 0, limits.SUPPLIERS, default=[],
    )  # fmt: skip

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _once(self, data: object, original: object, **_: object) -> None:
        del data
        errors: dict[Any, Any] = {}
        for index, fault in named_twice(original):
            put(errors, ("suppliers", index, "name"), fault)
        refuse(errors)


_COMPANY = CompanySchema()


def read_company(body: Mapping[str, Any]) -> Company:
    """Return the settings that a request puts. Raises ``Problem`` naming every fault at once."""
    try:
        loaded = _COMPANY.load(body)
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    suppliers = tuple(map(supplier_of, loaded.get("suppliers", ())))
    return Company(**loaded | {"address": tuple(loaded.get("address", ())), "suppliers": suppliers})


def render_company(company: Company) -> Json:
    """Return a client's settings."""
    answer: Json = _COMPANY.dump(company)
    return answer
