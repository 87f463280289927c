"""The solver's dataclasses as compressed JSON, and back: what is kept in Redis. Never pickle."""

from __future__ import annotations

import json
import zlib
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from cattrs import Converter

from solver.required import Side

T = TypeVar("T")


class Unreadable(Exception):
    """What is kept is not what this version would have kept: it was damaged, or another version kept it."""


def _side_or_place(value: str | int | None, _: object) -> Side | int | None:
    return Side(value) if isinstance(value, str) else value


def _converter() -> Converter:
    converter = Converter()
    for exact in (Decimal, Fraction):
        converter.register_unstructure_hook(exact, str)
        converter.register_structure_hook(exact, lambda value, kind: kind(value))
    for moment in (date, time, datetime):
        converter.register_unstructure_hook(moment, lambda value: value.isoformat())
        converter.register_structure_hook(moment, lambda value, kind: kind.fromisoformat(value))
    converter.register_structure_hook(Side | int | None, _side_or_place)
    converter.register_unstructure_hook(Side | int | None, lambda value: value)
    return converter


_CONVERTER = _converter()


def pack(value: object) -> bytes:
    """Return a dataclass as compressed JSON."""
    text = json.dumps(_CONVERTER.unstructure(value), separators=(",", ":"))
    return zlib.compress(text.encode(), level=1)


def unpack(data: bytes, kind: type[T]) -> T:
    """Return the dataclass that ``pack`` wrote. Raises ``Unreadable`` where that is not what the bytes are."""
    try:
        loaded: Any = json.loads(zlib.decompress(data))
        return _CONVERTER.structure(loaded, kind)
    except Exception as error:
        # damage may be of any kind, and what meets it must go on to the next record
        raise Unreadable(f"{kind.__name__}: {error!r}") from error
