"""Lists as the files that customers send: workbooks made by a library that is not the one that reads them."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import datetime, time

import xlsxwriter

from tests.support.hands import Hand


def workbook(sheets: Mapping[str, Sequence[Sequence[str]]], merged: Sequence[tuple[str, str]] = ()) -> bytes:
    """Return an XLSX workbook: digits are a number, and ``date:``, ``time:``, ``bool:`` and ``error:`` say others."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(made) as book:
        day = book.add_format({"num_format": "d-mmm"})
        clock = book.add_format({"num_format": "h:mm"})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for at, row in enumerate(rows):
                for place, cell in enumerate(row):
                    kind, _, value = cell.partition(":")
                    match kind:
                        case "date":
                            sheet.write_datetime(at, place, datetime.fromisoformat(value), day)
                        case "time":
                            sheet.write_datetime(at, place, time.fromisoformat(value), clock)
                        case "bool":
                            sheet.write_boolean(at, place, value == "TRUE")
                        case "error":
                            sheet.write_formula(at, place, "=A1", None, value)
                        case _:
                            sheet.write(at, place, float(cell) if cell.replace(".", "", 1).isdigit() else cell)
            for where, span in merged:
                if where == name:
                    sheet.merge_range(span, rows[int(span.partition(":")[0][1:]) - 1][0])
    return made.getvalue()


def of_hand(hand: Hand) -> bytes:
    """Return the file that a list came as: CSV, or a workbook with its sheets."""
    if hand.form == "csv":
        return hand.text.encode()
    starts = [at for _, at in hand.sheets]
    rows = [text.split("\t") for text, _ in hand.lines]
    parts = zip(hand.sheets, [*starts[1:], len(rows)], strict=True)
    return workbook({name: rows[start:end] for (name, start), end in parts}, hand.merged)


_SPREADSHEET = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">'
    "<office:body><office:spreadsheet>{}</office:spreadsheet></office:body></office:document-content>"
)


def opendocument(tables: str) -> bytes:
    """Return an ODS workbook with these tables, written as OpenDocument 1.2 has them."""
    made = io.BytesIO()
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("mimetype", kind)
        packed.writestr("content.xml", _SPREADSHEET.format(tables))
        packed.writestr(
            "META-INF/manifest.xml",
            '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>',
        )
    return made.getvalue()
