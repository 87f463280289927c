"""The solver's dataclasses as compressed JSON, and back: what is kept in Redis. Never pickle."""

from __future__ import annotations

import gc
import json
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import is_dataclass
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from cattrs import Converter
from cattrs.gen import make_dict_unstructure_fn

from solver.required import Side
from solver.sticks import StickRun, Sticks, StickUse

T = TypeVar("T")
FORMAT = 2
"""The format of what is kept. It grows when a field goes or comes to mean something else, and readers then go by it.

A field that is added with a default needs no new one: this version reads what lacks it, and the version before passes
it over. What says no format was kept before there was a second, and is of the first. In the second, one entry may
stand for a run of sticks.
"""


class Unreadable(Exception):
    """What is kept is not what this version would have kept: it was damaged, or another version kept it."""


@contextmanager
def reading(what: str) -> Iterator[None]:
    """Turn whatever is wrong with what is kept into ``Unreadable``, and nothing that is wrong with Redis itself."""
    try:
        yield
    except Unreadable:
        raise
    except Exception as error:
        # the command that plans without a server reads no Redis, and is not to load its client
        from redis.exceptions import RedisError, ResponseError  # noqa: PLC0415

        if isinstance(error, RedisError) and not (isinstance(error, ResponseError) and "WRONGTYPE" in str(error)):
            raise
        # damage may be of any kind, and what meets it must go on to the next record
        raise Unreadable(f"{what}: {error!r}") from error


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

    as_record = make_dict_unstructure_fn(StickRun, converter, _cattrs_omit_if_default=True)
    converter.register_unstructure_hook(StickRun, as_record)

    def are_sticks(kind: object) -> bool:
        return kind == Sequence[StickUse]

    # the first format has each stick by itself: a run of one
    converter.register_structure_hook_func(
        are_sticks, lambda runs, _: Sticks(converter.structure(runs, tuple[StickRun, ...]))
    )
    converter.register_unstructure_hook_func(are_sticks, lambda sticks: converter.unstructure(_runs(sticks)))
    return converter


def _runs(sticks: Sequence[StickUse]) -> tuple[StickRun, ...]:
    return (sticks if isinstance(sticks, Sticks) else Sticks.of(sticks)).runs


_CONVERTER = _converter()


def pack(value: object) -> bytes:
    """Return a dataclass as compressed JSON, which says in which format it is; other values as they are."""
    return packed(text_of(value))


def text_of(value: object) -> bytes:
    """Return what ``pack`` compresses: the same for equal values."""
    plain = _CONVERTER.unstructure(value)
    return json.dumps({"format": FORMAT, **plain} if is_dataclass(value) else plain, separators=(",", ":")).encode()


def packed(text: bytes) -> bytes:
    """Compress what ``text_of`` returned."""
    return zlib.compress(text, level=1)


def unpack(data: bytes, kind: type[T]) -> T:
    """Return the dataclass that ``pack`` wrote. Raises ``Unreadable`` where that is not what the bytes are."""
    with reading(kind.__name__), _uncollected():
        return structured(json.loads(zlib.decompress(data)), kind)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Put the collector off: it would go through a large plan again and again as it grows, and find nothing in it."""
    at_work = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if at_work:
            gc.enable()


def structured(value: object, kind: type[T]) -> T:
    """Return the dataclass that plain JSON values stand for. Raises ``Unreadable``."""
    with reading(kind.__name__):
        # any list would be read as a dataclass of nothing but defaults
        if not isinstance(value, dict):
            raise TypeError(f"{type(value).__name__} in the place of an object")
        return _CONVERTER.structure(value, kind)
