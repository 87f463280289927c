"""Of whom materials are bought, on the wire: what an order of one comes to beside its goods."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from marshmallow import validates_schema

from service.wire import limits
from service.wire.base import WireSchema, put, refuse
from service.wire.fields import Choice, Fault, Json, One, Text
from service.wire.numbers import Amount
from solver.job import BelowMinimum, MinimumOrder, Supplier


class MinimumOrderSchema(WireSchema):
    """What the goods of an order must come to: sticks and cartons of all priced materials, after price breaks."""

    amount = Amount("The least that goods may come to.", limits.PRICE, limits.PRICE_DECIMALS, required=True)
    below = Choice(
        "What becomes of an order below it: `refused`, so more is bought where that is needed; `made_up`, it is "
        "charged as the minimum; `fee`, `fee` is charged on top.",
        BelowMinimum, required=True,
    )  # fmt: skip
    fee = Amount(
        "What is charged on top of a small order; only with `fee`, and needed there.",
        limits.PRICE, limits.PRICE_DECIMALS, default=Decimal(0),
    )  # fmt: skip

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _fee(self, data: Mapping[str, Any], original: object, **_: object) -> None:
        errors: dict[Any, Any] = {}
        if data.get("fee") and data.get("below") not in (None, BelowMinimum.FEE):
            put(errors, ("fee",), Fault("is charged only where below is fee", "needs_another"))
        if data.get("below") is BelowMinimum.FEE and isinstance(original, Mapping) and "fee" not in original:
            put(errors, ("fee",), Fault("is missing", "missing"))
        refuse(errors)


class SupplierSchema(WireSchema):
    """What an order of one supplier comes to beside its goods."""

    name = Text("The supplier, as materials name it; given once.", least=1, most=limits.ID, required=True)
    minimum_order = One(
        "The minimum order; null where there is none.", MinimumOrderSchema, allow_none=True, default=None
    )
    order_cost = Amount(
        "What is charged once with each order, whatever is bought.",
        limits.PRICE, limits.PRICE_DECIMALS, default=Decimal(0),
    )  # fmt: skip
    delivery = Amount(
        "What is charged for bringing an order.", limits.PRICE, limits.PRICE_DECIMALS, default=Decimal(0)
    )
    free_delivery_from = Amount(
        "Goods that are brought for nothing, after price breaks; null where none are. More may be bought to reach it.",
        limits.PRICE, limits.PRICE_DECIMALS, allow_none=True, default=None,
    )  # fmt: skip


def named_twice(body: object) -> Iterator[tuple[int, Fault]]:
    """Yield the place of each supplier of a body that is in it already."""
    rows = body.get("suppliers") if isinstance(body, Mapping) else None
    seen: set[str] = set()
    for place, row in enumerate(rows[: limits.SUPPLIERS] if isinstance(rows, list) else []):
        name = row.get("name") if isinstance(row, Mapping) else None
        if isinstance(name, str):
            if name in seen:
                yield place, Fault("is named before", "id_twice")
            seen.add(name)


def minimum_of(data: Mapping[str, Any]) -> MinimumOrder | None:
    """Return the minimum order that was loaded, if there is one."""
    return MinimumOrder(**data["minimum_order"]) if data.get("minimum_order") else None


def supplier_of(data: Mapping[str, Any]) -> Supplier:
    """Return the supplier that ``SupplierSchema`` loaded."""
    return Supplier(**{**data, "minimum_order": minimum_of(data)})


def minimum_told(minimum: MinimumOrder | None) -> Json | None:
    """Return a minimum order as a request says it."""
    answer: Json | None = MinimumOrderSchema().dump(minimum) if minimum else None
    return answer


def render_supplier(supplier: Supplier) -> Json:
    """Return a supplier as a request says it."""
    answer: Json = SupplierSchema().dump(supplier)
    return answer
