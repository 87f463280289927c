"""Values of the wire as people type them, on the page and in the cells of a price list, and back."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from marshmallow.fields import Field, Nested

from service.wire.fields import Choice, Flag, Many
from service.wire.numbers import Amount, Count, LengthField
from solver.lengths import Unit, say

_NO = ("none", "no", "no lap")
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}
SEPARATOR = ";"
"""What stands between the entries of a list in one cell."""


def parts_of(field: Field[Any]) -> dict[str, Field[Any]] | None:
    """Return the fields of a list's entries, which stand in a cell one after the other; None where they have none."""
    inner = field.inner if isinstance(field, Many) else None
    return dict(inner.schema.fields) if isinstance(inner, Nested) else None


def typed(value: object, field: Field[Any], unit: Unit) -> str:
    """Return a value of a job as one would type it: lengths are ticks."""
    if value is None:
        return "none"
    if isinstance(field, LengthField) and isinstance(value, int):
        return say(value, unit)
    if isinstance(field, Flag):
        return "yes" if value else "no"
    if isinstance(value, list):
        parts = parts_of(field)
        return f"{SEPARATOR} ".join(_entry(entry, parts, unit) if parts else str(entry) for entry in value)
    return f"{value:f}" if isinstance(value, Decimal) else str(value)


def asked(text: str, field: Field[Any]) -> object:
    """Return what a text asks for, as a request says it; what is none of the field's values stays as it is."""
    bare = text.strip()
    if field.allow_none and bare.lower() in _NO:
        return None
    if isinstance(field, Flag):
        return _FLAGS.get(bare.lower(), bare)
    if isinstance(field, Many):
        parts = parts_of(field)
        entries = [entry.strip() for entry in bare.split(SEPARATOR) if entry.strip()]
        return [_asked_entry(entry, parts) if parts else entry for entry in entries]
    if isinstance(field, Choice):
        return bare.lower()
    if isinstance(field, Count):
        return _whole(bare)
    return _money(bare) if isinstance(field, Amount) else bare


def _entry(entry: Mapping[str, Any], parts: Mapping[str, Field[Any]], unit: Unit) -> str:
    """Return an entry's values in the order of its fields, as ``10 9.20``, without what is not said at its end."""
    told = [typed(entry.get(name), part, unit) for name, part in parts.items()]
    while told and told[-1] == "none":
        told.pop()
    return " ".join(told)


def _asked_entry(text: str, parts: Mapping[str, Field[Any]]) -> object:
    words = text.split()
    if len(words) > len(parts):
        return text
    return {name: asked(word, parts[name]) for name, word in zip(parts, words, strict=False)}


def _whole(bare: str) -> int | str:
    """Return a number if the text is one, else the text, which the schema will refuse in words."""
    return int(bare) if bare.isascii() and bare.isdigit() and len(bare) < 10 else bare


def _money(text: str) -> str:
    """Return an amount as decimal digits: without a currency's sign, and with a point for a decimal comma."""
    bare = text.strip("$€£ ")
    whole, comma, cents = bare.partition(",")
    return f"{whole}.{cents}" if comma and len(cents) <= 2 and "." not in bare else bare
