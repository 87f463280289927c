"""Lists that come as files: CSV, TSV, XLSX and ODS as the text that a person would have pasted.

``opened`` is the way in. A row becomes a line, its cells parted by tabs; with several sheets each begins with a line
that names it. No formula is worked out and no macro is looked at: of a workbook only the stored values are read, out
of a copy that holds the sheets alone (``archive``), whose size is known before anything is read from it.
"""

from __future__ import annotations

import csv
import io
from codecs import BOM_UTF16_BE, BOM_UTF16_LE

from service.spreadsheets.rows import MOST_COLUMNS, Opened, Row, Sheet, Unreadable, listed
from service.spreadsheets.workbook import is_archive, is_old_format, read_workbook

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
