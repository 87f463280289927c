"""The catalogue as a price list: a table with a row for each stock length of a material and each date of its prices.

The first row has the headings, in any order; a column that is left out says nothing. What is of the material stands in
its first row and may be repeated below; in a row without a material's id the one above goes on. An empty cell says
nothing, ``none`` says that there is none; entries of a list in one cell are parted by semicolons. The columns are made
of the schemas of the catalogue, so that a field which is new there is one here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from marshmallow.fields import Field, Nested

from service.http.problems import FieldError, Problem
from service.spreadsheets.rows import Sheet, column
from service.spreadsheets.writing import Cell, harmless
from service.wire import limits
from service.wire.fields import DateField, Json, Many
from service.wire.materials.breaks import breaks_told
from service.wire.materials.catalogue import NAMED_BY_STORE, CatalogueMaterialSchema, DatedStockSchema, read_material
from service.wire.numbers import Amount, Count, LengthField, written
from service.wire.typed import are_breaks, asked, typed
from solver.lengths import Length, LengthError, Unit, read_length, say
from workers.orders.catalogue import Entry

NAME = re.compile(rf"[^\x00-\x1f\x7f/]{{1,{limits.ID}}}")
"""What a material may be called, so that it has an address."""
_ALWAYS = ("description", "category", "also", "length", "code", "price", "from", "carton")
_FIRST = ("description", "category", "also", "units")
_AFTER = ("stock", *NAMED_BY_STORE)
_NEVER = ("none",)
"""What cells say themselves."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, the name of its field in a request, the field, and whether that is of a stock length."""

    heading: str
    name: str
    field: Field[Any]
    of_stock: bool


def _columns() -> Iterator[Column]:
    of_material = CatalogueMaterialSchema().fields
    later = [name for name in of_material if name not in (*_FIRST, *_AFTER)]
    yield from (_column(name, of_material[name], of_stock=False) for name in _FIRST)
    of_stock = DatedStockSchema().fields
    yield from (_column(name, of_stock[name], of_stock=True) for name in of_stock if _plain(of_stock[name]))
    yield from (_column(name, of_material[name], of_stock=False) for name in later if _plain(of_material[name]))


def _plain(each: Field[Any]) -> bool:
    """Whether a field's value fits a cell."""
    if each.name in _NEVER:
        return False
    return are_breaks(each) or not isinstance(each.inner if isinstance(each, Many) else each, Nested)


def _column(name: str, of: Field[Any], *, of_stock: bool) -> Column:
    name = of.data_key or name
    heading = of.metadata.get("label") or name.replace("_", " ").capitalize()
    return Column(heading, name, of, of_stock)


_ID = _column("id", CatalogueMaterialSchema().fields["id"], of_stock=False)
MATERIAL = _ID.heading


def _plainly(heading: str) -> str:
    """Return a heading as it is compared: whatever its case, its gaps and its apostrophes."""
    return " ".join(heading.replace("’", "'").casefold().split())


COLUMNS = tuple(_columns())
_BY_HEADING = {_plainly(each.heading): each for each in COLUMNS}


def table_of(entries: Sequence[Entry]) -> Iterator[list[Cell]]:
    """Yield the rows of a price list of some materials, the headings first; they can be read again.

    Columns in which nothing would stand are left out, but for those that every price list has.
    """
    of_material = {name for entry in entries for name in entry.body}
    of_stock = {name for entry in entries for row in entry.body["stock"] for name in row}
    columns = [
        each for each in COLUMNS if each.name in _ALWAYS or each.name in (of_stock if each.of_stock else of_material)
    ]
    yield [MATERIAL, *(each.heading for each in columns)]
    for entry in entries:
        unit = Unit(entry.body["units"])
        for place, row in enumerate(entry.body["stock"]):
            told = [row if each.of_stock else entry.body if place == 0 else {} for each in columns]
            yield [entry.id, *(cell_of(each, said, unit) for each, said in zip(columns, told, strict=True))]


def cell_of(each: Column, said: Json, unit: Unit) -> Cell:
    """Return what stands in a column of what is said of a material or of a stock length; "" where that is nothing."""
    if each.name not in said:
        return ""
    value = said[each.name]
    if value is not None and isinstance(each.field, LengthField):
        return _length(value, unit)
    if isinstance(value, str) and isinstance(each.field, Amount):
        return Decimal(value)
    if are_breaks(each.field):
        return typed(breaks_told(value) or None, each.field, unit)
    if isinstance(value, str) and isinstance(each.field, DateField):
        return date.fromisoformat(value)
    return value if isinstance(each.field, Count) and isinstance(value, int) else typed(value, each.field, unit)


def _length(value: float | str, unit: Unit) -> str:
    """Return a length of a request as people say it where that is exact, else as it can be sent."""
    ticks = read_length(str(value), unit).ticks
    told = say(ticks, unit)
    try:
        exact = read_length(told, unit) == Length(ticks, exact=True)
    except LengthError:
        exact = False
    return told if exact else str(written(ticks, unit))


@dataclass(frozen=True, slots=True)
class CellFault:
    """What is wrong in a file, and where: the sheet ("" where a file has none), row from 1, and column by letters."""

    sheet: str
    row: int
    column: str
    heading: str
    detail: str
    code: str

    @property
    def said(self) -> str:
        """The same in words."""
        place = [f"sheet {self.sheet}"] * bool(self.sheet) + [f"row {self.row}"] * bool(self.row)
        named = f" ({self.heading})" if self.heading else ""
        place += [f"column {self.column}{named}"] * bool(self.column)
        return f"{', '.join(place) or 'the file'}: {self.detail}"


@dataclass(slots=True)
class _Rows:
    """The rows of one material as they are gathered: its request, and from pointers to cells."""

    id: str
    sheet: str
    row: int
    body: Json = field(default_factory=lambda: {"units": "in", "stock": []})
    places: dict[str, tuple[str, int, str, str]] = field(default_factory=dict)


class PriceListFaults(Exception):
    """A price list that can't be taken; ``faults`` says everything that is wrong with it, in the order of its rows."""

    def __init__(self, faults: Sequence[CellFault]) -> None:
        """Keep the faults."""
        super().__init__(f"{len(faults)} faults")
        self.faults = tuple(faults)


def read_price_list(sheets: Sequence[Sheet]) -> dict[str, Json]:
    """Return what a price list says of each material by id, as it is kept. Raises ``PriceListFaults``."""
    faults: list[CellFault] = []
    gathered: dict[str, _Rows] = {}
    for sheet in sheets:
        if any(any(cells) for cells in sheet.rows):
            _gather(sheet, gathered, faults)
    if not gathered and not faults:
        faults.append(CellFault("", 0, "", "", "it has no row with a material", "missing"))
    materials: dict[str, Json] = {}
    for rows in gathered.values():
        try:
            materials[rows.id] = read_material(rows.id, rows.body)
        except Problem as problem:
            faults += [_fault(rows, error) for error in problem.errors]
    if faults:
        order = {sheet.name: place for place, sheet in enumerate(sheets)}
        raise PriceListFaults(sorted(faults, key=lambda each: (order.get(each.sheet, 0), each.row)))
    return materials


def _gather(sheet: Sheet, gathered: dict[str, _Rows], faults: list[CellFault]) -> None:
    top = next(at for at, cells in enumerate(sheet.rows) if any(cells))
    headed = _headed(sheet, top, faults)
    if headed is None:
        return
    of_id, columns = headed
    current: _Rows | None = None
    for at, row in enumerate(sheet.rows[top + 1 :], top + 1):
        cells = [sheet.errors.get((at, place), _without_mark(cell.strip())) for place, cell in enumerate(row)]
        if not any(cells):
            continue
        broken = [place for place in range(len(cells)) if (at, place) in sheet.errors]
        faults += [_at(sheet, at, place, columns, "holds a formula that failed", "wrong_form") for place in broken]
        name = cells[of_id] if of_id < len(cells) else ""
        if name and not NAME.fullmatch(name):
            faults.append(
                _at(sheet, at, of_id, {of_id: _ID}, "must have 1 to 64 characters and no stroke", "wrong_form")
            )
            continue
        if name or current is None:
            if not name:
                faults.append(_at(sheet, at, of_id, {of_id: _ID}, "is missing: which material is it?", "missing"))
                continue
            current = gathered.setdefault(name, _Rows(name, sheet.name, at + 1))
        _add(current, sheet, at, [(place, columns.get(place), cell) for place, cell in enumerate(cells)], faults)


def _without_mark(cell: str) -> str:
    """Return a text without the apostrophe that keeps spreadsheets from taking it for a formula."""
    return cell[1:] if cell[:1] == "'" and harmless(cell[1:]) == cell else cell


def _headed(sheet: Sheet, top: int, faults: list[CellFault]) -> tuple[int, dict[int, Column]] | None:
    """Return the place of the materials' column and the others by place; None where the headings are wrong."""
    headings = [*map(_plainly, sheet.rows[top])]
    columns = {place: _BY_HEADING[heading] for place, heading in enumerate(headings) if heading in _BY_HEADING}
    found = len(faults)
    for place, heading in enumerate(headings):
        if heading and heading not in (*_BY_HEADING, _plainly(MATERIAL)):
            words = f"{sheet.rows[top][place][:40]} is no heading of a price list"
            faults.append(_at(sheet, top, place, {}, words, "unknown_field"))
        elif heading and heading in headings[:place]:
            faults.append(_at(sheet, top, place, {}, f"the heading {sheet.rows[top][place]} comes twice", "id_twice"))
    missing = [heading for heading in (MATERIAL, "Length") if _plainly(heading) not in headings]
    if missing:
        words = f"no column has the heading {' or '.join(missing)}"
        faults.append(CellFault(sheet.name, top + 1, "", "", words, "missing"))
    return None if len(faults) > found else (headings.index(_plainly(MATERIAL)), columns)


def _add(
    rows: _Rows, sheet: Sheet, at: int, cells: Sequence[tuple[int, Column | None, str]], faults: list[CellFault]
) -> None:
    """Add a row to what is gathered of its material."""
    stock: Json = {}
    pointer = f"#/stock/{len(rows.body['stock'])}"
    for place, each, cell in cells:
        if each is None or not cell:
            continue
        value, below = asked(cell, each.field), f"{pointer if each.of_stock else '#'}/{each.name}"
        said = stock if each.of_stock else rows.body
        if below in rows.places and said.get(each.name) != value:
            words = f"says something else than row {rows.places[below][1]}, of the same material"
            faults.append(_at(sheet, at, place, {place: each}, words, "wrong_form"))
            continue
        said[each.name] = value
        rows.places.setdefault(below, (sheet.name, at + 1, column(place), each.heading))
    rows.places[pointer] = (sheet.name, at + 1, "", "")
    stock.setdefault("id", named_by_length(str(stock.get("length", "")), rows.body["units"]))
    rows.body["stock"].append(stock)


def named_by_length(length: str, units: object) -> str:
    """Return what a stock length is called that has no id: its length, however it is written."""
    unit = Unit(units) if isinstance(units, str) and units in [*Unit] else Unit.IN
    try:
        return say(read_length(length, unit).ticks, unit)
    except LengthError:
        return length[:64] or "?"


def _fault(rows: _Rows, error: FieldError) -> CellFault:
    """Return a fault of a material's request as one of the file, at its cell or the nearest thing around it."""
    pointer = error.pointer
    while pointer not in rows.places and "/" in pointer:
        pointer = pointer.rpartition("/")[0]
    sheet, row, letters, heading = rows.places.get(pointer, (rows.sheet, rows.row, "", ""))
    name = error.pointer.rpartition("/")[2]
    missing = next((each.heading for each in COLUMNS if each.name == name), name)
    detail = error.detail if heading else f"{missing} {error.detail}"
    return CellFault(sheet, row, letters, heading, detail, error.code or "wrong_form")


def _at(sheet: Sheet, at: int, place: int, columns: Mapping[int, Column], detail: str, code: str) -> CellFault:
    heading = columns[place].heading if place in columns else ""
    return CellFault(sheet.name, at + 1, column(place), heading, detail, code)
