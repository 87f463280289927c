"""Lists that come as files: CSV, TSV, XLSX and ODS as the text that a person would have pasted.

``opened`` is the way in. A row becomes a line, its cells parted by tabs; with several sheets each begins with a line
that names it. No formula is worked out and no macro is looked at: of a workbook only the stored values are read, out
of a copy that holds the sheets alone (``archive``), whose size is known before anything is read from it.
"""

from __future__ import annotations

from service.spreadsheets.delimited import read_delimited
from service.spreadsheets.rows import Opened, Row, Sheet, Unreadable, listed
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
