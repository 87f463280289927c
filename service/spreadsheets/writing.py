"""Tables as files: CSV, and XLSX with numbers and dates that a spreadsheet can reckon with."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from xlsxwriter import Workbook

from service.drawing.lettering import LEFT_TO_RIGHT, clean

Cell = str | Decimal | int | date
"""What a cell holds."""
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
"""The media type of a workbook (ISO/IEC 29500)."""
_FORMULA = ("=", "+", "-", "@", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}", "\N{FULLWIDTH HYPHEN-MINUS}",
            "\N{FULLWIDTH COMMERCIAL AT}", "|", "%")  # fmt: skip
"""What makes a spreadsheet take text for something to carry out."""
_WIDEST = 40
_MADE = datetime(2000, 1, 1)  # noqa: DTZ001 - the same workbook every time


def harmless(text: str) -> str:
    """Return text that no spreadsheet takes for a formula."""
    printed = clean(text).replace(LEFT_TO_RIGHT, "").strip()
    return f"'{printed}" if printed.startswith(_FORMULA) else printed


def csv_of(rows: Iterable[Iterable[Cell]]) -> str:
    """Return rows as RFC 4180 has them; texts that begin like a formula begin with an apostrophe instead."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for row in rows:
        writer.writerow([harmless(cell) if isinstance(cell, str) else f"{cell}" for cell in row])
    return out.getvalue()


def workbook_of(name: str, rows: Iterable[Iterable[Cell]]) -> bytes:
    """Return an XLSX workbook of one sheet whose first row has the headings; nothing in it is a formula."""
    out = io.BytesIO()
    with Workbook(out, {"in_memory": True}) as book:
        book.set_properties({"created": _MADE})
        sheet = book.add_worksheet(name)
        money, day = book.add_format({"num_format": "0.00##"}), book.add_format({"num_format": "yyyy-mm-dd"})
        heading = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        widths: dict[int, int] = {}
        for at, row in enumerate(rows):
            for place, cell in enumerate(row):
                match cell:
                    case str():
                        if cell:
                            sheet.write_string(at, place, cell, None if at else heading)
                    case date():
                        sheet.write_datetime(at, place, datetime(cell.year, cell.month, cell.day), day)  # noqa: DTZ001
                    case Decimal():
                        sheet.write_number(at, place, float(cell), money)
                    case _:
                        sheet.write_number(at, place, cell)
                widths[place] = max(widths.get(place, 0), len(f"{cell}") if at else 8)
        for place, width in widths.items():
            sheet.set_column(place, place, min(width, _WIDEST) + 2)
        sheet.freeze_panes(1, 1)
    return out.getvalue()
