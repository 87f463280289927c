"""A row under a header, written as the free line it stands for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from solver.reading import reasons
from solver.reading.columns import Column
from solver.reading.tables import Header, cells

_COUNT = re.compile(r"\(?\s*([0-9]{1,6})(?:\.0+)?\s*\)?\s*(?:x|pcs?\.?|ea\.?|each|pieces?)?", re.IGNORECASE)
_OWN_UNIT = re.compile(r"\s*(?:'|\"|ft\.?|feet|in\.?|inches)$", re.IGNORECASE)
_NUMBER_OR_DITTO = re.compile('[0-9"]|ditto')
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?|(?:[0-9]+[ -]+)?[0-9]+/[0-9]+")


@dataclass(frozen=True, slots=True)
class Row:
    """What a row's cells say: quantity, length and ends as a free line, the names as written ("" where blank)."""

    said: str
    mark: str
    material: str
    description: str


def row(line: str, header: Header, numbers: str | None) -> Row | None:
    """Return what a row says, None if its cells are not those of the header. Raises ``Unclear`` without a quantity.

    ``numbers`` answers what a column of numbers is where no other counts the pieces: numbering or quantity.
    """
    if header.separator == " " or header.separator not in line or not _NUMBER_OR_DITTO.search(line):
        return None
    found = [cell.strip() for cell in cells(line, header.separator)]
    if len(found) > len(header.columns) or not any(found):
        return None
    by_column = _by_column(found, header)
    quantity, length = _quantity(by_column, header, numbers), _length(by_column, header)
    if quantity is None or not length:
        return None
    if not quantity and Column.QUANTITY in header.columns:
        raise reasons.no_quantity(length)
    said = f"{quantity} @ {length}" if quantity else length
    ends = "".join(f", {by_column[side]} {side}" for side in (Column.LEFT, Column.RIGHT) if by_column.get(side))
    mark, material, described = (by_column.get(c, "") for c in (Column.MARK, Column.MATERIAL, Column.DESCRIPTION))
    return Row(said + ends, mark, material, described)


def _by_column(found: list[str], header: Header) -> dict[Column, str]:
    by_column: dict[Column, str] = {}
    for column, cell in zip(header.columns, found, strict=False):
        by_column[column] = f"{by_column.get(column, '')} {cell}".strip()
    return by_column


def _quantity(by_column: Mapping[Column, str], header: Header, numbers: str | None) -> str | None:
    """Return the quantity as digits or a ditto mark, "" where there is none, None where the cell says no quantity."""
    cell = by_column.get(Column.QUANTITY, "")
    if Column.QUANTITY not in header.columns and by_column.get(Column.NUMBER):
        if numbers is None:
            said = by_column[Column.NUMBER]
            raise reasons.unclear_quantity(said, (f"{said} pieces", f"row {said}"), "n)")
        cell = by_column[Column.NUMBER] if numbers == "quantity" else ""
    match = _COUNT.fullmatch(cell)
    if match:
        return match[1]
    return {"": "", '"': '"', "ditto": '"'}.get(cell.lower())


def _length(by_column: Mapping[Column, str], header: Header) -> str:
    if cell := by_column.get(Column.LENGTH):
        return f"{cell} {header.unit}" if header.unit and _BARE.fullmatch(cell) else cell
    feet, inches = (_OWN_UNIT.sub("", by_column.get(column, "")) for column in (Column.FEET, Column.INCHES))
    inches = " ".join(part for part in (inches, _part(by_column.get(Column.PART, ""), header.parts)) if part)
    return " ".join(([f"{feet}'"] if feet else []) + ([f'{inches}"'] if inches else []))


def _part(cell: str, parts: int | None) -> str:
    if parts and cell.isdigit():
        return f"{cell}/{parts}" if int(cell) else ""
    return "" if cell == "0" else cell
