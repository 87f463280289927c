"""A sheet as PDF, set with fpdf2: pure Python, embeds the glyphs it uses.

Tables are set row by row: fpdf2's own take some milliseconds a row, and a cut sheet may have thousands of rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import singledispatchmethod
from pathlib import Path

from fpdf import FPDF

from service.documents.blocks import (
    Block,
    Column,
    Facts,
    Figure,
    Heading,
    Links,
    Paper,
    Paragraph,
    Sheet,
    Table,
    Together,
    unbroken,
)
from service.documents.painting import paint, visual

_FONTS = Path(__file__).with_name("fonts")
_FAMILY = "sheet"
_SIZES = {Paper.LETTER: (215.9, 279.4), Paper.A4: (210.0, 297.0)}
_MARGIN = 14.0
_FOOT = 15.0
_FACTS_IN_ROW = 3
_PAGES = "\ue000\ue001\ue002"
"""Stands for the number of pages until it is known; no text that was cleaned holds it."""
LINE = 4.6
"""Height of a line in a table, in millimetres."""
_SIZE, _HEADING = 9.0, 7.5
"""Size of the letters in a table's rows and over its columns, in points."""
_PAD, _BETWEEN = 0.9, 1.5
"""Room above and below the lines of a row, and between columns, in millimetres."""


def pdf(sheet: Sheet) -> bytes:
    """Return the sheet as a PDF document; the same sheet gives the same bytes."""
    setter = _Setter(sheet)
    for page in sheet.pages:
        setter.begin(page.title)
        for block in page.blocks:
            setter.put(block)
    return bytes(setter.output())


class _Setter(FPDF):
    """Sets blocks one below the other."""

    def __init__(self, sheet: Sheet) -> None:
        super().__init__(format=_SIZES[sheet.paper])
        self.sheet = sheet
        self.set_creation_date(sheet.made)
        self.set_title(sheet.title)
        self.set_lang("en")
        self.set_margin(_MARGIN)
        self.c_margin = 0
        self.set_auto_page_break(auto=True, margin=_FOOT)
        self.str_alias_nb_pages = _PAGES
        self.add_font(_FAMILY, "", _FONTS / "DejaVuSansCondensed.ttf")
        self.add_font(_FAMILY, "B", _FONTS / "DejaVuSansCondensed-Bold.ttf")
        self.set_font(_FAMILY)

    def footer(self) -> None:
        """Set whose sheet it is and the number of the page."""
        self.set_y(-_FOOT + 3)
        self.set_font(style="", size=8)
        self.cell(self.epw - 30, 4, self._cut(visual(self.sheet.foot), self.epw - 30))
        self.cell(30, 4, f"page {self.page_no()} of {_PAGES}", align="R")

    def begin(self, title: str) -> None:
        """Begin a page under a title."""
        self.add_page()
        self._lines(title, 15, bold=True)
        self.set_line_width(0.4)
        self.line(self.l_margin, self.y + 0.5, self.l_margin + self.epw, self.y + 0.5)
        self.ln(3)

    @singledispatchmethod
    def put(self, block: Block | Together) -> None:
        """Set one block."""
        raise TypeError(f"nothing sets a {type(block).__name__}")

    @put.register
    def _together(self, block: Together) -> None:
        if self.will_page_break(sum(map(self._height, block.blocks))):
            self.add_page()
        for inner in block.blocks:
            self.put(inner)

    @put.register
    def _heading(self, block: Heading) -> None:
        if self.will_page_break(30):
            self.add_page()
        self.ln(3)
        self._lines(block.text, 11, bold=True)
        self.ln(0.8)

    @put.register
    def _paragraph(self, block: Paragraph) -> None:
        self._lines(block.text, 9.5, bold=block.strong)
        self.ln(1.2)

    @put.register
    def _facts(self, block: Facts) -> None:
        width = self.epw / _FACTS_IN_ROW
        self.set_line_width(0.15)
        for n, (name, value) in enumerate(block.entries):
            x, y = self.l_margin + n % _FACTS_IN_ROW * width, self.y
            self.set_font(style="", size=7.5)
            self.text(x, y + 5.5, name)
            taken = self.get_string_width(name) + 2
            self.set_font(style="B", size=9.5)
            self.text(x + taken, y + 5.5, self._cut(visual(value), width - taken - 4))
            self.line(x, y + 7, x + width - 4, y + 7)
            if n % _FACTS_IN_ROW == _FACTS_IN_ROW - 1 or n == len(block.entries) - 1:
                self.set_y(y + 8)
        self.ln(3)

    @put.register
    def _figure(self, block: Figure) -> None:
        scale = self._scale(block)
        height = block.drawing.height * scale
        if self.will_page_break(height):
            self.add_page()
        self.set_font(_FAMILY)
        y = self.y
        paint(self, block.drawing, self.l_margin, y, scale)
        self.set_xy(self.l_margin, y + height + 2)

    @put.register
    def _table(self, block: Table) -> None:
        TableSetter(self, block).set_all()

    @put.register
    def _links(self, block: Links) -> None:
        """Set nothing: paper leads nowhere."""

    def _scale(self, figure: Figure) -> float:
        return min(self.epw / figure.drawing.width, (self.eph - 20) / figure.drawing.height, 1.05)

    def _height(self, block: Block) -> float:
        """Return about how much of the page must be left for a block to begin on it."""
        match block:
            case Figure():
                return block.drawing.height * self._scale(block) + 2
            case Table():
                return min(len(block.rows), 4) * (LINE + 1.8)
            case _:
                return LINE

    def _lines(self, text: str, size: float, *, bold: bool) -> None:
        self.set_font(style="B" if bold else "", size=size)
        self.multi_cell(self.epw, size * 0.5, visual(unbroken(text)), align="L", new_x="LMARGIN", new_y="NEXT")

    def _cut(self, text: str, room: float) -> str:
        kept = text
        while kept and self.get_string_width(kept) > room:
            kept = kept[:-1]
        return kept


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
