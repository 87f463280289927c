"""Tables set into a PDF row by row: cells wrapped at words, headings repeated on every page, a thin line under rows.

fpdf2's own tables take some milliseconds a row, and a cut sheet may have thousands of rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fpdf import FPDF

from service.documents.blocks import Column, Table, unbroken
from service.documents.visual import visual

LINE = 4.6
_SIZE = 9.0
_HEADING = 7.5
_PAD = 0.9
_BETWEEN = 1.5


@dataclass(frozen=True, slots=True)
class _Field:
    """Where a column's cells stand: their left edge, and the room they have."""

    left: float
    room: float
    figures: bool


class TableSetter:
    """Sets one table from the current place of ``pdf`` downward; its font family has been chosen."""

    def __init__(self, pdf: FPDF, table: Table) -> None:
        self.pdf, self.table = pdf, table
        whole, left = sum(column.share for column in table.columns), pdf.l_margin
        self.fields: list[_Field] = []
        for column in table.columns:
            width = pdf.epw * column.share / whole
            self.fields.append(_Field(left, width - _BETWEEN, column.figures))
            left += width

    def set_all(self) -> None:
        """Set headings and rows."""
        self._headings(self.table.columns)
        for n, row in enumerate(self.table.rows, 1):
            self._row(row, bold=self.table.total and n == len(self.table.rows))
        self.pdf.set_y(self.pdf.y + 2)

    def _headings(self, columns: Sequence[Column]) -> None:
        if any(column.title for column in columns):
            self.pdf.set_font(style="", size=_HEADING)
            pairs = zip(columns, self.fields, strict=True)
            self._cells([self._wrapped(column.title, field) for column, field in pairs])

    def _row(self, row: Sequence[str], *, bold: bool) -> None:
        self._font(bold=bold)
        cells = [self._wrapped(visual(unbroken(text)), field) for text, field in zip(row, self.fields, strict=True)]
        if self.pdf.will_page_break(_height(cells)):
            self.pdf.add_page()
            self._headings(self.table.columns)
            self._font(bold=bold)
        self._cells(cells)

    def _font(self, *, bold: bool) -> None:
        self.pdf.set_font(style="B" if bold else "", size=_SIZE)

    def _cells(self, cells: Sequence[Sequence[str]]) -> None:
        top, height = self.pdf.y, _height(cells)
        for lines, field in zip(cells, self.fields, strict=True):
            for n, line in enumerate(lines):
                back = field.room - self._width(line) if field.figures else 0
                self.pdf.text(field.left + back, top + _PAD + (n + 0.72) * LINE, line)
        self.pdf.set_line_width(0.12)
        self.pdf.line(self.pdf.l_margin, top + height, self.pdf.l_margin + self.pdf.epw, top + height)
        self.pdf.set_y(top + height)

    def _wrapped(self, text: str, field: _Field) -> list[str]:
        """Return the text in lines that fit: broken at spaces, and within a word only where it is wider than a line."""
        if self._width(text) <= field.room:
            return [text]
        lines = [""]
        for word in text.split(" "):
            longer = f"{lines[-1]} {word}".strip()
            if self._width(longer) <= field.room:
                lines[-1] = longer
            else:
                lines += self._broken(word, field)
        return [line for line in lines if line] or [""]

    def _broken(self, word: str, field: _Field) -> list[str]:
        parts = [word]
        while self._width(parts[-1]) > field.room and len(parts[-1]) > 1:
            rest = parts[-1]
            kept = next(n for n in range(len(rest) - 1, 0, -1) if n == 1 or self._width(rest[:n]) <= field.room)
            parts[-1:] = [rest[:kept], rest[kept:]]
        return parts

    def _width(self, text: str) -> float:
        """Return what ``get_string_width`` does, without its detour over fragments."""
        font = self.pdf.current_font
        assert font is not None
        points = font.get_text_width(text, self.pdf.font_size_pt, None)[1]
        return float(points) / self.pdf.k


def _height(cells: Sequence[Sequence[str]]) -> float:
    return max(map(len, cells)) * LINE + 2 * _PAD
