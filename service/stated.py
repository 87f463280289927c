"""What a posted plan states, held against what the plan gives: every figure, count and text of a result."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from solver.lengths import LengthError, Unit, read_length, to_number

_WORDS = ("detail", "cautions")
"""Words for people, which may be other ones."""
_MONEY = ("amount", "unit_price", "order_total")
_PLACES = {"waste_percent": 2, "cost": 6, "bound": 6}
"""Decimals to which these are given; any other number may be half a tick off."""
_MOST_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Misstatement:
    """One thing stated that the plan does not give: where, as a JSON pointer, and both."""

    pointer: str
    detail: str


def misstatements(stated: object, given: object, unit: Unit, pointer: str) -> Iterator[Misstatement]:
    """Yield whatever of ``stated`` is not as ``given``; what is not stated, or no part of a result, is passed over."""
    if isinstance(stated, Mapping) and isinstance(given, Mapping):
        for name in stated:
            if name in given and name not in _WORDS:
                yield from misstatements(stated[name], given[name], unit, f"{pointer}/{name}")
    elif isinstance(stated, list) and isinstance(given, list) and len(stated) == len(given):
        for place, (one, other) in enumerate(zip(stated, given, strict=True)):
            yield from misstatements(one, other, unit, f"{pointer}/{place}")
    elif not _same(stated, given, unit, pointer.rpartition("/")[2]):
        yield Misstatement(pointer, f"needed {_shown(given)}, found {_shown(stated)}")


def _same(stated: Any, given: Any, unit: Unit, name: str) -> bool:  # noqa: ANN401 - JSON is anything
    if isinstance(stated, list):
        return bool(stated) and isinstance(given, str) and all(entry == given for entry in stated)
    if isinstance(given, bool) or isinstance(stated, bool) or given is None or stated is None:
        return stated is given
    if name in _MONEY:
        return _decimal(stated) == Decimal(given)
    if isinstance(given, str):
        return stated == given or (name == "text" and _ticks(stated, unit) == _ticks(given, unit) is not None)
    return _same_number(stated, given, unit, name)


def _same_number(stated: Any, given: Any, unit: Unit, name: str) -> bool:  # noqa: ANN401
    if isinstance(stated, str):
        ticks = _ticks(stated, unit)
        return ticks is not None and to_number(ticks, unit) == given
    if not isinstance(stated, int | float | Decimal) or not isinstance(given, int | float):
        return False
    if name in _PLACES:
        return round(float(stated), _PLACES[name]) == given
    return abs(float(stated) - given) <= 0.5 / unit.ticks


def _ticks(text: object, unit: Unit) -> int | None:
    try:
        return read_length(str(text), unit).ticks
    except LengthError:
        return None


def _decimal(amount: object) -> Decimal | None:
    try:
        return Decimal(str(amount))
    except InvalidOperation:
        return None


def _shown(value: object) -> str:
    if isinstance(value, str):
        return value[:_MOST_SHOWN]
    if isinstance(value, Decimal):
        return f"{value:.10g}"
    if isinstance(value, list):
        return f"{len(value)} entries"
    return json.dumps(value, default=str)[:_MOST_SHOWN]
