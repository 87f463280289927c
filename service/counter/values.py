"""Values of a request as people type them, and the way back, by the schema's field that each belongs to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from decimal import Decimal
from typing import Any

from marshmallow.fields import Field

from service.wire.lengths import LengthField
from service.wire.material import MaterialSchema, OffcutSchema, StockSchema
from service.wire.numbers import Amount, Count
from solver.lengths import Unit, say
from solver.materials import Settings

MATERIAL: Mapping[str, Field[Any]] = MaterialSchema().fields
OFFCUT: Mapping[str, Field[Any]] = OffcutSchema().fields
STOCK: Mapping[str, Field[Any]] = StockSchema().fields
SETTINGS = tuple(field.name for field in fields(Settings))
"""Everything that a material can be told besides its name, its category and its stock."""
_NO = ("none", "no", "no lap")


def typed(value: object, field: Field[Any], unit: Unit) -> str:
    """Return a value of a job as one would type it: lengths are ticks."""
    if value is None:
        return "none"
    if isinstance(field, LengthField) and isinstance(value, int):
        return say(value, unit)
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def asked(text: str, field: Field[Any]) -> object:
    """Return what a text asks for, as a request says it; what is none of the field's values stays as it is."""
    bare = text.strip()
    if field.allow_none and bare.lower() in _NO:
        return None
    if isinstance(field, Count):
        return _whole(bare)
    return _money(bare) if isinstance(field, Amount) else bare


def _whole(bare: str) -> int | str:
    """Return a number if the text is one, else the text, which the schema will refuse in words."""
    return int(bare) if bare.isascii() and bare.isdigit() and len(bare) < 10 else bare


def _money(text: str) -> str:
    """Return an amount as decimal digits: without a currency's sign, and with a point for a decimal comma."""
    bare = text.strip("$€£ ")
    whole, comma, cents = bare.partition(",")
    return f"{whole}.{cents}" if comma and len(cents) <= 2 and "." not in bare else bare
