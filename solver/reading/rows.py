"""A row under a header, written as the free line it stands for."""

from __future__ import annotations

import re
from dataclasses import dataclass

from solver.lengths import Unit
from solver.reading import reasons
from solver.reading.tables import Column, Header, cells

_COUNT = re.compile(r"\(?\s*([0-9]{1,6})(?:\.0+)?\s*\)?\s*(?:x|pcs?\.?|ea\.?|each|pieces?)?", re.IGNORECASE)
_OWN_UNIT = re.compile(r"\s*(?:'|\"|ft\.?|feet|in\.?|inches)$", re.IGNORECASE)
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?|(?:[0-9]+[ -]+)?[0-9]+/[0-9]+")


@dataclass(frozen=True, slots=True)
class Row:
    """What a row's cells say: the quantity and length as a free line, and the names as written ("" where blank)."""

    said: str
    mark: str
    material: str


def row(line: str, header: Header) -> Row | None:
    """Return what a row says, None if its cells are not those of the header. Raises ``Unclear`` without a quantity."""
    if header.separator == " " or header.separator not in line:
        return None
    found = [cell.strip() for cell in cells(line, header.separator)]
    if not len(found) <= len(header.columns) or not any(found):
        return None
    by_column = _by_column(found, header)
    quantity, length = _quantity(by_column), _length(by_column, header.unit)
    if quantity is None or not length:
        return None
    if not quantity and Column.QUANTITY in by_column:
        raise reasons.no_quantity(length)
    said = f"{quantity} @ {length}" if quantity else length
    return Row(said, by_column.get(Column.MARK, ""), by_column.get(Column.MATERIAL, ""))


def _by_column(found: list[str], header: Header) -> dict[Column, str]:
    by_column: dict[Column, str] = {}
    for column, cell in zip(header.columns, found, strict=False):
        by_column[column] = f"{by_column.get(column, '')} {cell}".strip()
    return by_column


def _quantity(by_column: dict[Column, str]) -> str | None:
    """Return the quantity as digits or a ditto mark, "" where there is none, None where the cell says no quantity."""
    cell = by_column.get(Column.QUANTITY, "")
    match = _COUNT.fullmatch(cell)
    if match:
        return match[1]
    return {"": "", '"': '"', "ditto": '"'}.get(cell.lower())


def _length(by_column: dict[Column, str], unit: Unit | None) -> str:
    if by_column.get(Column.LENGTH):
        cell = by_column[Column.LENGTH]
        return f"{cell} {unit}" if unit and _BARE.fullmatch(cell) else cell
    feet, inches = (by_column.get(column, "") for column in (Column.FEET, Column.INCHES))
    feet, inches = _OWN_UNIT.sub("", feet), _OWN_UNIT.sub("", inches)
    return " ".join(([f"{feet}'"] if feet else []) + ([f'{inches}"'] if inches else []))
