"""Price breaks as they are typed, on the page and in a price list: ``10 at 8.50; 24 at 8.10, carton 77`` and back."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from solver.materials import PriceBreak

_BREAK = re.compile(
    r"(?:from\s+)?(?P<sticks>\S+)\s+at\s+(?P<price>[^\s,]+)(?:\s*,?\s*carton\s+(?P<carton>\S+))?", re.IGNORECASE
)


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
