"""CSV and TSV: the coding by its mark, the separator by how many rows it parts."""

from __future__ import annotations

import csv
import io
from codecs import BOM_UTF16_BE, BOM_UTF16_LE

from service.spreadsheets.rows import MOST_COLUMNS, Sheet, Unreadable

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
