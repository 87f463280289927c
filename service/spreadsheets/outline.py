"""What a workbook would take in memory, and which of its formulas failed, seen by a pass over its own XML.

A sheet is held as a full rectangle by whoever reads it, so that one cell in its last corner stands for billions; and
room is made for as many strings and styles as a part says that it has. So every part is looked at, whichever of them
the workbook calls its sheets, by the names of its elements alone, and none is held as a tree.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from xml.etree.ElementTree import ParseError, XMLParser

from service.spreadsheets.rows import MOST_CELLS, Unreadable

MOST_SHEETS = 60
_MANY = f"it has more than {MOST_SHEETS} sheets: keep those that are the list"
_MOST_NAMED = 10 * MOST_CELLS
"""Strings or styles that a part may say it has: of those there may be more than of cells on one sheet."""
_CHUNK = 64 * 1024
_ADDRESS = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_BOOK, _RELATIONS, _CONTENT = "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "content.xml"


@dataclass(slots=True)
class Outline:
    """How far a sheet reaches, and its failed formulas with what they show, by row and column from 0."""

    rows: int = 0
    columns: int = 0
    errors: dict[tuple[int, int], str] = field(default_factory=dict)

    @property
    def cells(self) -> int:
        """How many cells are held of it."""
        return self.rows * self.columns

    def reach(self, rows: int, columns: int) -> None:
        """Count a cell in. Raises ``Unreadable`` where the sheet is larger than a list can be."""
        self.rows, self.columns = max(self.rows, rows), max(self.columns, columns)
        if self.cells > MOST_CELLS:
            raise Unreadable(f"a sheet reaches over more than {MOST_CELLS:,} cells: keep the part that is the list")


def outlines(archive: zipfile.ZipFile) -> Mapping[str, Outline]:
    """Return the outline of each sheet by name. Raises ``Unreadable``."""
    names = archive.namelist()
    try:
        if _BOOK in names:
            sheets = {part: _of_sheet(archive, part) for part in names if part.startswith("xl/")}
            _require_few(list(sheets.values()))
            return {name: sheets[part] for name, part in _parts(archive) if part in sheets}
        if _CONTENT in names:
            tables = _of_tables(archive)
            _require_few([outline for _, outline in tables])
            return dict(tables)
    except (ParseError, ValueError, LookupError):
        raise Unreadable("it can't be read as XLSX or ODS: save it anew") from None
    raise Unreadable("it is an archive, but none of XLSX and ODS")


def _require_few(found: list[Outline]) -> None:
    if sum(outline.cells for outline in found) > MOST_CELLS:
        raise Unreadable(f"its sheets hold more than {MOST_CELLS:,} cells: keep those that are the list")


class _Pass:
    """What a parser tells as it goes, by local names; no part has a document type, which could rename things."""

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Begin an element."""
        self.begin(tag.rpartition("}")[2], attributes)

    def end(self, tag: str) -> None:
        """End it."""
        self.finish(tag.rpartition("}")[2])

    def doctype(self, *_: object) -> None:
        """Refuse it."""
        raise ValueError("a document type")

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Do nothing."""

    def finish(self, name: str) -> None:
        """Do nothing."""


def _passed(archive: zipfile.ZipFile, part: str, seen: _Pass) -> None:
    parser = XMLParser(target=seen)  # noqa: S314 - a document type is refused, and with it every entity
    with archive.open(part) as opened:
        while chunk := opened.read(_CHUNK):
            parser.feed(chunk)
    parser.close()


class _Listed(_Pass):
    """The attributes of all elements of a name, of which there may be so many."""

    def __init__(self, name: str, most: int, why: str) -> None:
        self.name, self.most, self.why = name, most, why
        self.found: list[dict[str, str]] = []

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Keep an element's attributes. Raises ``Unreadable`` where there are too many."""
        if name == self.name:
            self.found.append(attributes)
            if len(self.found) > self.most:
                raise Unreadable(self.why)


def _parts(archive: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Yield the name of each sheet of an XLSX workbook, and the part that holds it."""
    relations, sheets = _Listed("Relationship", 100 * MOST_SHEETS, _MANY), _Listed("sheet", MOST_SHEETS, _MANY)
    _passed(archive, _RELATIONS, relations)
    _passed(archive, _BOOK, sheets)
    targets = {each.get("Id"): each.get("Target", "") for each in relations.found}
    for sheet in sheets.found:
        target = targets.get(sheet.get(_RELATION), "")
        yield sheet.get("name", ""), target.lstrip("/") if target.startswith("/") else f"xl/{target}"


class _Cells(_Pass):
    """A part of an XLSX workbook: where its cells stand, and what it says it has."""

    def __init__(self) -> None:
        self.outline, self.row, self.at = Outline(), 0, 0
        self.failed: tuple[int, int] | None = None
        self.value: list[str] | None = None

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Follow rows and cells. Raises ``Unreadable`` and ``ValueError`` where it says what no workbook does."""
        for told in ("count", "uniqueCount"):
            if int(attributes.get(told) or 0) > _MOST_NAMED:
                raise Unreadable(f"it says that it has more than {_MOST_NAMED:,} texts: save it anew")
        if name == "row":
            self.row, self.at = int(attributes.get("r") or self.row + 1), 0
        elif name == "c":
            self._cell(attributes)
        elif name == "v" and self.failed:
            self.value = []

    def _cell(self, attributes: dict[str, str]) -> None:
        row, address = self.row, attributes.get("r")
        self.at += 1
        if address:
            match = _ADDRESS.fullmatch(address)
            if not match:
                raise ValueError(address)
            row, self.at = int(match[2]), _place(match[1])
        self.outline.reach(row, self.at)
        self.failed = None
        if attributes.get("t") == "e":
            self.failed = (row - 1, self.at - 1)
            self.outline.errors[self.failed] = "#ERROR"

    def data(self, text: str) -> None:
        """Keep what a failed formula shows."""
        if self.value is not None:
            self.value.append(text)

    def finish(self, name: str) -> None:
        """Keep what a failed formula showed."""
        if name == "v" and self.failed and self.value:
            self.outline.errors[self.failed] = "".join(self.value)
        if name == "v":
            self.value = None


def _of_sheet(archive: zipfile.ZipFile, part: str) -> Outline:
    cells = _Cells()
    _passed(archive, part, cells)
    return cells.outline


def _place(letters: str) -> int:
    """Return a column's place from 1."""
    place = 0
    for letter in letters:
        place = 26 * place + ord(letter) - ord("A") + 1
    return place


class _Tables(_Pass):
    """The content of an ODS workbook: its tables one after the other."""

    def __init__(self) -> None:
        self.found: list[tuple[str, Outline]] = []
        self.rows = self.columns = self.repeated = 0
        self.text: list[str] | None = None
        self._of: Mapping[str, Callable[[dict[str, str]], None]] = {
            "table": self._table, "table-row": self._row, "table-cell": self._cell, "covered-table-cell": self._cell,
        }  # fmt: skip

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        """Follow tables, rows and cells. Raises ``Unreadable`` where there are too many tables."""
        if name in self._of:
            self._of[name](attributes)

    def _table(self, attributes: dict[str, str]) -> None:
        self.found.append((next(_said(attributes, "name"), ""), Outline()))
        if len(self.found) > MOST_SHEETS:
            raise Unreadable(_MANY)
        self.rows = 0

    def _row(self, attributes: dict[str, str]) -> None:
        self.repeated = _times(attributes, "number-rows-repeated")
        self.rows, self.columns = self.rows + self.repeated, 0

    def _cell(self, attributes: dict[str, str]) -> None:
        self.columns += _times(attributes, "number-columns-repeated")
        if kinds := [*_said(attributes, "value-type")]:
            outline = self.found[-1][1]
            outline.reach(self.rows, self.columns)
            self.text = [] if "error" in kinds and self.repeated == 1 else None

    def data(self, text: str) -> None:
        """Keep what a failed formula shows."""
        if self.text is not None:
            self.text.append(text)

    def finish(self, name: str) -> None:
        """Keep what a failed formula showed."""
        if name.endswith("table-cell") and self.text is not None:
            self.found[-1][1].errors[self.rows - 1, self.columns - 1] = "".join(self.text)
            self.text = None


def _said(attributes: Mapping[str, str], local: str) -> Iterator[str]:
    """Yield what an element says under a name, in whichever namespace: who reads it may know another by its prefix."""
    return (said for name, said in attributes.items() if name.rpartition("}")[2] == local)


def _times(attributes: Mapping[str, str], local: str) -> int:
    times = [*map(int, _said(attributes, local))] or [1]
    if min(times) < 1:
        raise ValueError(times)
    return max(times)


def _of_tables(archive: zipfile.ZipFile) -> list[tuple[str, Outline]]:
    tables = _Tables()
    _passed(archive, _CONTENT, tables)
    return tables.found
