"""Lists that come as files: CSV, TSV, XLSX and ODS as the text that a person would have pasted.

``opened`` is the way in. A row becomes a line, its cells parted by tabs; with several sheets each begins with a line
that names it. No formula is worked out and no macro is looked at: of a workbook only the stored values are read, out
of a copy that holds the sheets alone (``archive``), whose size is known before anything is read from it.
"""

from __future__ import annotations

import csv
import io
import zipfile
import zlib
from codecs import BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Callable, Iterable
from datetime import date, datetime, time, timedelta
from io import BytesIO

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, SheetVisibleEnum

from service.spreadsheets.outline import Outline, outlines
from service.spreadsheets.rows import MOST_COLUMNS, Opened, Row, Sheet, Unreadable, listed

__all__ = ["Opened", "Row", "Unreadable", "is_workbook", "opened", "sheets_of"]


def is_workbook(data: bytes) -> bool:
    """Whether a file is no text, but of the kinds of container that workbooks come in."""
    return is_archive(data) or is_old_format(data)


def opened(data: bytes) -> Opened:
    """Return what a file says as a list. Raises ``Unreadable`` with what to do instead."""
    return listed(sheets_of(data))


def sheets_of(data: bytes, *, whole_dates: bool = False) -> list[Sheet]:
    """Return a file's sheets, with dates as a list shows them or as ISO 8601. Raises ``Unreadable``."""
    if is_old_format(data):
        raise Unreadable("it is of an old format, or has a password: save it as XLSX, ODS or CSV without one")
    return read_workbook(data, whole_dates=whole_dates) if is_archive(data) else read_delimited(data)


_SEPARATORS = "\t;,|"
_TRIED = 100
"""Rows that the separator is looked for in."""
_LONGEST_CELL = 10_000


def read_delimited(data: bytes) -> list[Sheet]:
    """Return the one sheet that text holds. Raises ``Unreadable``."""
    text = _decoded(data)
    separator = max(_SEPARATORS, key=lambda each: _parted(text, each))
    if not _parted(text, separator):
        return [Sheet("", [[line] for line in text.splitlines()])]
    rows = _rows(text, separator)
    if text.count('"') % 2 and any("\n" in cell for row in rows for cell in row):
        raise Unreadable("a quotation mark has no partner, so that rows run into each other: save it again as CSV")
    if max(map(len, rows), default=0) > MOST_COLUMNS:
        raise Unreadable(f"it has more than {MOST_COLUMNS} columns: keep those that are the list")
    return [Sheet("", rows)]


def _decoded(data: bytes) -> str:
    wide = data.startswith((BOM_UTF16_LE, BOM_UTF16_BE))
    for coding in ["utf-16"] if wide else ["utf-8-sig", "cp1252"]:
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text.replace("\r\n", "\n").replace("\r", "\n")
    raise Unreadable("it is none of CSV, TSV, XLSX and ODS: save it as one of these")


def _parted(text: str, separator: str) -> int:
    rows = _rows("\n".join(text.split("\n", _TRIED)[:_TRIED]), separator)
    return sum(len(row) > 1 for row in rows)


def _rows(text: str, separator: str) -> list[list[str]]:
    csv.field_size_limit(_LONGEST_CELL)
    try:
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as error:
        raise Unreadable(f"it can't be read as CSV ({error}): save it again") from None


_ARCHIVE = b"PK\x03\x04"
_OLD = b"\xd0\xcf\x11\xe0"
_DECIMALS = 8
"""Of a number: what is behind them is not written but worked out."""


def is_archive(data: bytes) -> bool:
    """Whether a file is packed as workbooks are."""
    return data.startswith(_ARCHIVE)


def is_old_format(data: bytes) -> bool:
    """Whether a file is of the container of old workbooks, and of those that have a password."""
    return data.startswith(_OLD)


def read_workbook(data: bytes, *, whole_dates: bool = False) -> list[Sheet]:
    """Return the sheets of a workbook that are shown; hidden ones hold a word that they are. Raises ``Unreadable``.

    A date is said as cells show it in a list of pieces, where it was a length, or with ``whole_dates`` as ISO 8601.
    """
    with repacked(data) as archive:
        known = outlines(archive)
        assert isinstance(archive.fp, BytesIO)
        packed = archive.fp.getvalue()
    try:
        book = CalamineWorkbook.from_filelike(BytesIO(packed))
        shown = {sheet.name: sheet.visible == SheetVisibleEnum.Visible for sheet in book.sheets_metadata}
        say = _with_whole_dates if whole_dates else said
        sheets = [book.get_sheet_by_name(name) if shown[name] else name for name in book.sheet_names]
        return [_hidden(each) if isinstance(each, str) else _sheet(each, known.get(each.name), say) for each in sheets]
    except (CalamineError, ValueError, KeyError):
        raise Unreadable("it can't be read as XLSX or ODS: save it anew") from None


def _hidden(name: str) -> Sheet:
    return Sheet(f"{name}, hidden: not read", [])


def _sheet(sheet: CalamineSheet, outline: Outline | None, say: Callable[[object], str]) -> Sheet:
    rows = [[*map(say, row)] for row in sheet.to_python(skip_empty_area=False)]
    _fill_merged(rows, sheet.merged_cell_ranges or [])
    return Sheet(sheet.name, rows, outline.errors if outline else {})


def _fill_merged(rows: list[list[str]], merged: Iterable[tuple[tuple[int, int], tuple[int, int]]]) -> None:
    """Words in a cell that spans rows hold for each of them; a number does not count several times."""
    for (top, left), (bottom, _) in merged:
        if bottom == top or top >= len(rows) or left >= len(rows[top]):
            continue
        words = rows[top][left]
        if any(map(str.isalpha, words)):
            for row in rows[top + 1 : bottom + 1]:
                row[left] = words


def _with_whole_dates(value: object) -> str:
    if isinstance(value, datetime):
        return value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else said(value)


def said(value: object) -> str:
    """Return a stored value as its reader would type it; of a date the day and the month, as cells show it."""
    match value:
        case bool():
            return str(value).upper()
        case float():
            return f"{value:.{_DECIMALS}f}".rstrip("0").removesuffix(".")
        case datetime() | date():
            return f"{value.day}-{value:%b}"
        case time():
            return f"{value:%H:%M}"
        case timedelta():
            minutes = int(value.total_seconds()) // 60
            return f"{minutes // 60}:{minutes % 60:02}"
        case _:
            return str(value)


MOST_UNPACKED = 64 * 1024 * 1024
_MOST_PARTS = 2_000
_PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""How parts may be packed (ISO/IEC 29500-2, from memory); the others take as much memory as they are told to."""
_WANTED = (
    "[Content_Types].xml",
    "_rels/.rels",
    "xl/workbook.xml",
    "xl/_rels/workbook.xml.rels",
    "xl/sharedStrings.xml",
    "xl/styles.xml",
    "mimetype",
    "content.xml",
    "META-INF/manifest.xml",
)
_SHEETS = ("xl/worksheets/", "xl/worksheets/_rels/")


def repacked(data: bytes) -> zipfile.ZipFile:
    """Return the parts of an archive that hold sheets. Raises ``Unreadable``."""
    copy = io.BytesIO()
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as found, zipfile.ZipFile(copy, "w") as made:
            parts = found.infolist()
            wanted = [part for part in parts if _is_wanted(part.filename)]
            if len(parts) > _MOST_PARTS or sum(part.file_size for part in wanted) > MOST_UNPACKED:
                raise Unreadable("it unpacks to more than can be read: keep the sheets that are the list")
            if any(part.compress_type not in _PACKED for part in wanted):
                raise Unreadable("it is packed as no workbook is: save it anew")
            for part in wanted:
                with found.open(part) as packed:
                    made.writestr(part.filename, packed.read(MOST_UNPACKED))
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
        raise Unreadable("it is damaged, or has a password: save it anew without one") from None
    return zipfile.ZipFile(copy)


def _is_wanted(name: str) -> bool:
    return name in _WANTED or (name.startswith(_SHEETS) and name.endswith((".xml", ".rels")))
