"""Faults that show only across fields: names used twice or not known, and totals beyond what one request may ask.

They are looked for in the body as it was sent, so that they are told together with faults of single fields.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.wire import limits
from service.wire.faults import Fault

Path = tuple[str | int, ...]


def cross_faults(body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
    """Yield every fault across fields with its path; parts of the wrong type are passed over."""
    materials, walls = list(_entries(body, "materials")), list(_entries(body, "walls"))
    for name, entries in (("materials", materials), ("walls", walls), ("offcuts", list(_entries(body, "offcuts")))):
        yield from _twice((name,), entries)
    for index, material in materials:
        yield from _twice(("materials", index, "stock"), list(_entries(material, "stock")))
    yield from _unknown(body, "required", "material", _ids(materials))
    yield from _unknown(body, "offcuts", "material", _ids(materials))
    yield from _unknown(body, "required", "wall", _ids(walls))
    yield from _too_many(body)


def _entries(body: Mapping[str, Any], name: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    rows = body.get(name)
    for index, row in enumerate(rows if isinstance(rows, list) else []):
        if isinstance(row, Mapping):
            yield index, row


def _ids(entries: list[tuple[int, Mapping[str, Any]]]) -> set[str]:
    return {row["id"] for _, row in entries if isinstance(row.get("id"), str)}


def _twice(path: Path, entries: list[tuple[int, Mapping[str, Any]]]) -> Iterator[tuple[Path, Fault]]:
    seen: dict[str, int] = {}
    for index, row in entries:
        name = row.get("id")
        if not isinstance(name, str):
            continue
        if name in seen:
            yield (*path, index, "id"), Fault(f"is the id of entry {seen[name]} too", "id_twice")
        seen.setdefault(name, index)


def _unknown(body: Mapping[str, Any], rows: str, field: str, known: set[str]) -> Iterator[tuple[Path, Fault]]:
    for index, row in _entries(body, rows):
        name = row.get(field)
        if isinstance(name, str) and name not in known:
            yield (rows, index, field), Fault(f"is no {field} of this request", "id_unknown")


def _too_many(body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
    pieces = sum(_whole(row, "quantity") * _whole(row, "courses") for _, row in _entries(body, "required"))
    if pieces > limits.PIECES:
        words = f"asks for {pieces} pieces; one request may ask for {limits.PIECES}"
        yield ("required",), Fault(words, "too_many_pieces")
    at_hand = sum(_whole(row, "quantity") for _, row in _entries(body, "offcuts"))
    if at_hand > limits.PIECES:
        words = f"lists {at_hand} offcuts; one request may list {limits.PIECES}"
        yield ("offcuts",), Fault(words, "too_many_pieces")


def _whole(row: Mapping[str, Any], name: str) -> int:
    value = row.get(name, 1)
    counts = isinstance(value, int) and not isinstance(value, bool)
    return max(0, min(value, 10**12)) if counts else 1
