"""XLSX and ODS by way of python-calamine, which reads stored values and nothing else.

Before it does, ``outline`` has looked at what it would hold in memory, and at what it leaves out: formulas that failed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime, time, timedelta
from io import BytesIO

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, SheetVisibleEnum

from service.spreadsheets.archive import repacked
from service.spreadsheets.outline import Outline, outlines
from service.spreadsheets.rows import Sheet, Unreadable

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
