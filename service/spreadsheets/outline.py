"""What a workbook would take in memory, and which of its formulas failed, seen by a pass over its own XML.

A sheet is held as a full rectangle by whoever reads it, so that one cell in its last corner stands for billions.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from xml.etree.ElementTree import Element, ParseError, iterparse

from service.spreadsheets.rows import MOST_CELLS, Unreadable

_ADDRESS = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_BOOK, _RELATIONS, _CONTENT = "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "content.xml"


@dataclass(slots=True)
class Outline:
    """How far a sheet reaches, and its failed formulas with what they show, by row and column from 0."""

    rows: int = 0
    columns: int = 0
    errors: dict[tuple[int, int], str] = field(default_factory=dict)

    def reach(self, rows: int, columns: int) -> None:
        """Count a cell in. Raises ``Unreadable`` where the sheet is larger than a list can be."""
        self.rows, self.columns = max(self.rows, rows), max(self.columns, columns)
        if self.rows * self.columns > MOST_CELLS:
            raise Unreadable(f"a sheet reaches over more than {MOST_CELLS:,} cells: keep the part that is the list")


def outlines(archive: zipfile.ZipFile) -> Mapping[str, Outline]:
    """Return the outline of each sheet by name. Raises ``Unreadable``."""
    names = archive.namelist()
    try:
        if _BOOK in names:
            return {name: _of_sheet(archive, part) for name, part in _parts(archive) if part in names}
        if _CONTENT in names:
            return dict(_of_tables(archive))
    except (ParseError, ValueError, KeyError):
        raise Unreadable("it can't be read as XLSX or ODS: save it anew") from None
    raise Unreadable("it is an archive, but none of XLSX and ODS")


def _parts(archive: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Yield the name of each sheet of an XLSX workbook, and the part that holds it."""
    targets = {each.get("Id"): each.get("Target", "") for each in _elements(archive, _RELATIONS, "Relationship")}
    for sheet in _elements(archive, _BOOK, "sheet"):
        target = targets.get(sheet.get(_RELATION), "")
        yield sheet.get("name", ""), target.lstrip("/") if target.startswith("/") else f"xl/{target}"


def _elements(archive: zipfile.ZipFile, part: str, name: str) -> Iterator[Element]:
    """Yield the elements of a part by local name, each whole, and forget them."""
    with archive.open(part) as opened:
        for _, element in iterparse(opened):  # noqa: S314 - expat stops entities that expand without end
            if element.tag.rpartition("}")[2] == name:
                yield element
                element.clear()


def _of_sheet(archive: zipfile.ZipFile, part: str) -> Outline:
    outline, row = Outline(), 0
    for element in _elements(archive, part, "row"):
        row = int(element.get("r") or row + 1)
        at = 0
        for cell in element:
            match = _ADDRESS.fullmatch(cell.get("r", ""))
            at = _place(match[1]) if match else at + 1
            outline.reach(int(match[2]) if match else row, at)
            if cell.get("t") == "e":
                shows = next((each.text for each in cell if each.tag.endswith("}v") and each.text), "#ERROR")
                outline.errors[row - 1, at - 1] = shows
    return outline


def _place(letters: str) -> int:
    """Return a column's place from 1."""
    place = 0
    for letter in letters:
        place = 26 * place + ord(letter) - ord("A") + 1
    return place


def _of_tables(archive: zipfile.ZipFile) -> Iterator[tuple[str, Outline]]:
    for table in _elements(archive, _CONTENT, "table"):
        outline, rows = Outline(), 0
        for row in table.iter(f"{_TABLE}table-row"):
            rows += (repeated := int(row.get(f"{_TABLE}number-rows-repeated", "1")))
            columns = 0
            for cell in row:
                columns += int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
                if cell.get(f"{_OFFICE}value-type"):
                    outline.reach(rows, columns)
                    if _failed(cell) and repeated == 1:
                        outline.errors[rows - 1, columns - 1] = "".join(cell.itertext())
        yield table.get(f"{_TABLE}name", ""), outline


def _failed(cell: Element) -> bool:
    return any(name.endswith("}value-type") and value == "error" for name, value in cell.items())
