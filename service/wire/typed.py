"""Values of the wire as people type them, on the page and in the cells of a price list, and back."""

from __future__ import annotations

from datetime import time
from decimal import Decimal
from typing import Any

from marshmallow.fields import Field, Nested

from service.wire.fields import Choice, Flag, Many
from service.wire.materials.breaks import PriceBreakSchema, breaks_of, typed_breaks
from service.wire.numbers import Amount, Count, LengthField
from solver.lengths import Unit, say

_NO = ("none", "no", "no lap")
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}
SEPARATOR = ";"
"""What stands between the entries of a list in one cell."""


def are_breaks(field: Field[Any]) -> bool:
    """Whether a field holds price breaks, the one list of more than words that is typed into a field."""
    inner = field.inner if isinstance(field, Many) else None
    return isinstance(inner, Nested) and isinstance(inner.schema, PriceBreakSchema)


def typed(value: object, field: Field[Any], unit: Unit) -> str:
    """Return a value of a job as one would type it: lengths are ticks."""
    if value is None:
        return "none"
    if isinstance(field, LengthField) and isinstance(value, int):
        return say(value, unit)
    if isinstance(field, Flag):
        return "yes" if value else "no"
    if isinstance(value, time):
        return value.isoformat(timespec="minutes")
    if isinstance(value, list):
        return typed_breaks(value) if are_breaks(field) else f"{SEPARATOR} ".join(map(str, value))
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def asked(text: str, field: Field[Any]) -> object:
    """Return what a text asks for, as a request says it; what is none of the field's values stays as it is."""
    bare = text.strip()
    if field.allow_none and bare.lower() in _NO:
        return None
    if isinstance(field, Flag):
        return _FLAGS.get(bare.lower(), bare)
    if isinstance(field, Many):
        entries = [entry.strip() for entry in bare.split(SEPARATOR) if entry.strip()]
        return breaks_of("" if bare.lower() in _NO else bare) if are_breaks(field) else entries
    if isinstance(field, Choice):
        return bare.lower()
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
