"""Price breaks on the wire, and as they are typed on the page and in a price list: ``10 at 8.50; 24 at 8.10``.

And what is wrong between the fields that say how stock is sold.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any

from service.wire import limits
from service.wire.base import WireSchema
from service.wire.fields import Fault
from service.wire.numbers import Amount, Count
from solver.materials import PriceBreak

_BREAK = re.compile(
    r"(?:from\s+)?(?P<sticks>\S+)\s+at\s+(?P<price>[^\s,]+)(?:\s*,?\s*carton\s+(?P<carton>\S+))?", re.IGNORECASE
)


class PriceBreakSchema(WireSchema):
    """Prices from so many sticks on: all sticks of the row are then at these, not just those beyond the number."""

    sticks = Count("From how many sticks bought on, spares among them.", 2, limits.STICKS_AT_HAND, required=True)
    price = Amount(
        "Price of one stick then; no higher than that of the row before.",
        limits.PRICE, limits.PRICE_DECIMALS, required=True,
    )  # fmt: skip
    carton_price = Amount(
        "Price of a carton then; given where the stock length has a `carton_price`, and only there.",
        limits.PRICE * 100, limits.PRICE_DECIMALS, allow_none=True, default=None, sparse=True,
    )  # fmt: skip


def sale_faults(row: Mapping[str, Any], given: Mapping[str, Any]) -> Iterator[tuple[tuple[str | int, ...], Fault]]:
    """Yield what is wrong between the fields of a stock length that was loaded from what was ``given``."""
    if row.get("carton") is None:
        if row.get("singles") is False:
            yield ("singles",), Fault("can't be false without carton: how many sticks are in one?", "needs_another")
        if row.get("carton_price") is not None:
            yield ("carton_price",), Fault("needs carton: how many sticks are in one?", "needs_another")
    if given.get("price") is None:
        for name in ("breaks", "fixed_cost", "carton_price"):
            if row.get(name):
                yield (name,), Fault("needs price: what does a single stick cost?", "needs_another")
    for path, fault in _break_faults(row, given.get("carton_price") is not None):
        yield ("breaks", *path), fault


def priced_rows(rows: Any) -> list[bool]:  # noqa: ANN401 - JSON is anything
    """Return for each row of stock whether it has a price."""
    return [isinstance(row, dict) and row.get("price") is not None for row in rows] if isinstance(rows, list) else []


def pricing_faults(rows: Any) -> list[tuple[int, str]]:  # noqa: ANN401
    """Return which stock rows of a body have no price though others have, and what is wrong with that."""
    priced = priced_rows(rows)
    if all(priced) or not any(priced):
        return []
    message = "is missing: either all stock of a material is priced or none"
    return [(index, message) for index, has in enumerate(priced) if not has]


def _break_faults(row: Mapping[str, Any], by_carton: bool) -> Iterator[tuple[tuple[int, str], Fault]]:
    """Yield what is wrong between the price rows of a stock length, each against the one before it.

    ``by_carton``: cartons have a price of their own, right or wrong.
    """
    known = [entry if isinstance(entry, Mapping) else {} for entry in row.get("breaks") or ()]
    for place, (before, after) in enumerate(pairwise([{**row, "sticks": 0}, *known])):
        if _above(before.get("sticks"), after.get("sticks"), equal=True):
            words = f"must be more than {before['sticks']}, where the row before begins"
            yield (place, "sticks"), Fault(words, "breaks_unordered")
        for name in ("price", "carton_price"):
            if _above(after.get(name), before.get(name), equal=False):
                words = f"rises: the row before has {before[name]:f}, and more sticks can't cost more each"
                yield (place, name), Fault(words, "break_rises")
        # of what is no row of prices nothing was read
        if after and by_carton is (after.get("carton_price") is None):
            words = "must be given for each row of prices, or for none"
            yield (place, "carton_price"), Fault(words, "needs_another")


def _above(one: Any, other: Any, *, equal: bool) -> bool:  # noqa: ANN401
    """Whether the one is above the other, or ``equal`` to it; what is not known is in order."""
    return one is not None and other is not None and (one > other or (equal and one == other))


def breaks_of(text: str) -> list[dict[str, Any]]:
    """Return price breaks as a request has them; what is no break is left for its schema to refuse."""
    return [_break(part) for part in text.split(";") if part.strip()]


def _break(text: str) -> dict[str, Any]:
    found = _BREAK.fullmatch(text.strip())
    if not found:
        return {"sticks": text.strip(), "price": "0"}
    sticks, carton = found["sticks"], found["carton"]
    told: dict[str, Any] = {"sticks": int(sticks) if sticks.isascii() and sticks.isdecimal() else sticks}
    return told | {"price": found["price"]} | ({"carton_price": carton} if carton else {})


def typed_breaks(breaks: Sequence[PriceBreak]) -> str:
    """Return price breaks as one would type them."""
    return "; ".join(map(_typed, breaks))


def breaks_told(told: Sequence[Mapping[str, Any]]) -> list[PriceBreak]:
    """Return price breaks that a request says, as they are kept."""
    return [PriceBreak(entry["sticks"], Decimal(entry["price"]), _carton(entry)) for entry in told]


def _carton(entry: Mapping[str, Any]) -> Decimal | None:
    return None if entry.get("carton_price") is None else Decimal(entry["carton_price"])


def _typed(step: PriceBreak) -> str:
    carton = "" if step.carton_price is None else f", carton {step.carton_price:f}"
    return f"{step.sticks} at {step.price:f}{carton}"
