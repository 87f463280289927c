"""The particulars of an order as they are typed at the counter, and as its page says them."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from service.counter.form import StockForm
from service.counter.labels import FIELDS
from service.counter.request import Fault, Json, Refused
from service.http.problems import Problem
from service.wire.particulars import read_particulars
from workers.orders.particulars import Particulars

_TYPED = tuple(field.name for field in fields(Particulars) if field.name in FIELDS["form"])
"""The particulars that have a field on the page."""


def typed_of(known: Particulars) -> dict[str, Any]:
    """Return particulars as they are typed."""
    return {name: str(getattr(known, name) or "") for name in _TYPED}


def particulars_of(form: StockForm, before: Particulars | None = None) -> Particulars:
    """Return the particulars that a form says, with what it has no field for as it was. Raises ``Refused``."""
    body: Json = {name: text for name in _TYPED if (text := " ".join(str(getattr(form, name)).split()))}
    if before and before.ref:
        body["ref"] = before.ref
    try:
        return read_particulars(body)
    except Problem as problem:
        raise Refused(tuple(_fault(error.pointer, error.detail) for error in problem.errors)) from None


def _fault(pointer: str, detail: str) -> Fault:
    name = pointer.rpartition("/")[2]
    return Fault(name, f"{FIELDS['form'][name]}: {detail}")
