"""Sheets and labels as PDF, set with fpdf2: pure Python, embeds the glyphs it uses. Tagged, to be read aloud.

A drawing is set shape by shape as ``service.drawing.svg`` writes it. PDF sets letters from left to right, whichever way
they are read: ``visual`` puts them in the order they are seen in. A label stands at its place on the sheet, with what
to read beside the code that leads to its page.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import groupby

import segno
from fpdf import FPDF, ViewerPreferences
from fpdf.bidi import BidiParagraph
from fpdf.enums import TextDirection
from fpdf.structure_tree import StructElem

from service.documents.blocks import Block, Sheet, unbroken
from service.documents.labels import Label, Stock
from service.documents.laying import WIDTH, Band, Placed, laid, title
from service.documents.lettering import FILES, POINT, width, wrapped
from service.documents.paging import FOOT, SIZES, TOP, Printed, foot_of, printed
from service.documents.tagging import TaggedPDF
from service.drawing.lettering import LEFT_TO_RIGHT, clean
from service.drawing.shapes import Anchor, Drawing, Line, Pen, Point, Ring, Shape, Strokes, Text

_FAMILY = "sheet"
_PARENT = {"TH": "Table", "TD": "Table", "LI": "L"}
"""What an element is part of that others beside it are part of too."""


def pdf(sheet: Sheet) -> bytes:
    """Return the sheet as a PDF document; the same sheet gives the same bytes."""
    setter = Setter(sheet)
    pages = printed(sheet)
    for number, page in enumerate(pages, 1):
        setter.set_page(page, foot_of(sheet, number, len(pages)))
    return bytes(setter.output())


class Setter(TaggedPDF):
    """Sets bands one below the other."""

    def __init__(self, sheet: Sheet) -> None:
        super().__init__(SIZES[sheet.paper])
        self.set_creation_date(sheet.made)
        self.set_title(sheet.title)
        self.set_lang("en")
        self.viewer_preferences = ViewerPreferences(display_doc_title=True)
        self.c_margin = 0
        self.set_auto_page_break(auto=False)
        for bold, path in FILES.items():
            self.add_font(_FAMILY, "B" if bold else "", path)
        self.set_font(_FAMILY)
        self.left = (self.w - WIDTH) / 2

    def set_page(self, page: Printed, foot: tuple[Placed, ...]) -> None:
        """Set one page."""
        self.add_page()
        y = self._band(title(page.title), TOP, None)
        for block in page.blocks:
            y = self._block(block, y)
        with self.artifact():
            self._texts(foot, self.h - FOOT)

    def _block(self, block: Block, y: float) -> float:
        bands = laid(block)
        kind = _PARENT.get(bands[0].tag) if bands else None
        parent = self.structure.begin(kind) if kind else None
        for band in bands:
            y = self._band(band, y, parent)
        return y

    def _band(self, band: Band, y: float, parent: StructElem | None) -> float:
        if band.drawing is not None:
            self.set_font(_FAMILY)
            with self.tagged("Figure", parent, f"{band.drawing.title}. {band.drawing.description}"):
                paint(self, band.drawing, self.left, y, band.scale)
        if band.rules:
            with self.artifact():
                for rule in band.rules:
                    self.set_line_width(rule.pen)
                    self.line(self.left + rule.x, y + rule.y, self.left + rule.x + rule.length, y + rule.y)
        for texts, tag, within in self._elements(band, parent):
            with self.tagged(tag, within):
                self._texts(texts, y)
        return y + band.height

    def _elements(
        self, band: Band, parent: StructElem | None
    ) -> Iterator[tuple[Sequence[Placed], str, StructElem | None]]:
        """Yield what stands in each cell of a band, the tag it has, and the element it is part of."""
        if parent is None:
            if band.texts:
                yield band.texts, band.tag, None
            return
        row = self.structure.begin("LI" if band.tag == "LI" else "TR", parent) if band.texts else None
        for _, cell in groupby(band.texts, key=lambda text: text.cell):
            yield list(cell), "LBody" if band.tag == "LI" else band.tag, row

    def _texts(self, texts: Sequence[Placed], top: float) -> None:
        set_in: tuple[bool, float] | None = None
        for text in texts:
            if set_in != (text.bold, text.size):
                self.set_font(style="B" if text.bold else "", size=text.size)
                set_in = text.bold, text.size
            self.text(self.left + text.x, top + text.y, visual(text.text))


_POINTS = 72 / 25.4
"""Points in a millimetre."""
_SHIFT = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}


def paint(pdf: FPDF, drawing: Drawing, left: float, top: float, scale: float) -> None:
    """Draw at a place of the current page, made smaller or larger by ``scale``."""
    brush = _Brush(pdf, left, top, scale)
    for shape in drawing.shapes:
        brush.draw(shape)
    pdf.set_dash_pattern()


class _Brush:
    """Draws on the current page of ``pdf``, whose font family has been chosen."""

    def __init__(self, pdf: FPDF, left: float, top: float, scale: float) -> None:
        self.pdf = pdf
        self.left, self.top, self.scale = left, top, scale

    def draw(self, shape: Shape) -> None:
        """Draw one shape."""
        match shape:
            case Line():
                self._take(shape.pen)
                style = "DF" if shape.filled else "D"
                self.pdf.set_fill_color(0)
                self.pdf.polyline([self._at(p) for p in shape.points], style=style, polygon=shape.closed)
            case Strokes():
                self._take(shape.pen)
                for start, end in shape.segments:
                    self.pdf.line(*self._at(start), *self._at(end))
            case Ring():
                self._ring(shape)
            case Text():
                self._write(shape)

    def _at(self, point: Point) -> Point:
        return self.left + point[0] * self.scale, self.top + point[1] * self.scale

    def _take(self, pen: Pen) -> None:
        self.pdf.set_line_width(pen.width * self.scale)
        dash, gap = (*pen.dashes, 0, 0)[:2]
        self.pdf.set_dash_pattern(dash * self.scale, gap * self.scale)

    def _ring(self, ring: Ring) -> None:
        self._take(ring.pen)
        x, y = self._at((ring.x - ring.width / 2, ring.y - ring.height / 2))
        width, height = ring.width * self.scale, ring.height * self.scale
        self.pdf.rect(x, y, width, height, round_corners=True, corner_radius=height / 2 - 0.001)

    def _write(self, text: Text) -> None:
        printed = visual(clean(text.text))
        self.pdf.set_font(style="B" if text.bold else "", size=text.size * self.scale * _POINTS)
        x, y = self._at((text.x, text.y))
        back = self.pdf.get_string_width(printed) * _SHIFT[text.anchor]
        if not text.upright:
            self.pdf.text(x - back, y, printed)
            return
        with self.pdf.rotation(90, x, y):
            self.pdf.text(x - back, y, printed)


def visual(text: str) -> str:
    """Return a line of text with its right-to-left words turned round; Arabic letters stay unjoined."""
    if text.isascii():
        return text
    if not any(unicodedata.bidirectional(character) in ("R", "AL") for character in text):
        return text.replace(LEFT_TO_RIGHT, "")
    turned = BidiParagraph(text, base_direction=TextDirection.LTR).get_reordered_string()
    return str(turned).replace(LEFT_TO_RIGHT, "")


_LETTERS = "label"
_PAD = 2.0
_LEAST, _STEP = 9.0, 0.5
"""The smallest letters of a name and of a length, and by how much they are tried smaller."""
_FURTHER = ((16.0, 9.0), (16.0, 8.0), (14.0, 8.0), (14.0, 7.0), (12.0, 7.0))
"""The largest letters of name and length, and those of the further lines: the first with which all of it fits."""
_QUIET = 4
"""Modules that stay white about a symbol, as the standard asks."""


def labels_pdf(labels: Iterable[Label], stock: Stock, title: str, made: datetime, skip: int = 0) -> bytes:
    """Return labels as PDF; ``skip`` are taken off the first sheet already."""
    setter = _Labels(stock, title, made)
    places = list(stock.places())
    numbered = enumerate(labels, skip % len(places))
    for page, group in groupby(numbered, key=lambda pair: pair[0] // len(places)):
        del page
        setter.add_page()
        for place, label in group:
            setter.label(label, places[place % len(places)])
    if not setter.pages:
        setter.add_page()
    return bytes(setter.output())


class _Labels(TaggedPDF):
    """Sets labels at their places."""

    def __init__(self, stock: Stock, title: str, made: datetime) -> None:
        super().__init__(stock.page)
        self.stock = stock
        self.set_creation_date(made)
        self.set_title(title)
        self.set_lang("en")
        self.viewer_preferences = ViewerPreferences(display_doc_title=True)
        self.set_auto_page_break(auto=False)
        for bold, path in FILES.items():
            self.add_font(_LETTERS, "B" if bold else "", path)
        self.set_font(_LETTERS)
        self.set_fill_color(0)

    def label(self, label: Label, place: tuple[float, float]) -> None:
        """Set a label with its upper left corner at a place."""
        left, top = place
        side = min(self.stock.height - 2 * _PAD, self.stock.width * 0.4)
        with self.tagged("Figure", words=f"QR code of {label.address}"):
            self._symbol(label.address, left + _PAD, top + (self.stock.height - side) / 2, side)
        x, room = left + _PAD + side + 1.5, self.stock.width - side - 2 * _PAD - 1.5
        with self.tagged("P"):
            self._words(label, x, top + _PAD, room)

    def _words(self, label: Label, x: float, top: float, room: float) -> None:
        """Set name and length as large as they fit with all further lines; of those that never fit, the first."""
        bottom, said = top + self.stock.height - 2 * _PAD + 0.5, (label.name, label.length)
        for largest, small in _FURTHER:
            heads = [(text, _fitting(text, room, largest)) for text in said]
            further = [line for words in filter(None, label.lines) for line in wrapped(unbroken(words), small, room)]
            if top + (sum(size for _, size in heads) * 1.1 + len(further) * small * 1.15) * POINT <= bottom:
                break
        y = top
        for text, size in heads:
            y += size * POINT * 1.1
            self._line(x, y - 0.2 * size * POINT, wrapped(text, size, room, bold=True)[0], size, bold=True)
        for line in further:
            y += small * POINT * 1.15
            if y <= bottom:
                self._line(x, y - 0.2 * small * POINT, line, small)

    def _line(self, x: float, y: float, text: str, size: float, *, bold: bool = False) -> None:
        self.set_font(style="B" if bold else "", size=size)
        self.text(x, y, visual(text))

    def _symbol(self, words: str, left: float, top: float, side: float) -> None:
        """Set a symbol, dark modules that touch in a row as one."""
        rows: Sequence[Sequence[int]] = segno.make(words, error="m", micro=False).matrix
        module = side / (len(rows) + 2 * _QUIET)
        boxes = []
        for down, row in enumerate(rows, _QUIET):
            along = _QUIET
            for dark, run in groupby(row):
                length = len(list(run))
                if dark:
                    boxes.append(self._box(left + along * module, top + down * module, length * module, module))
                along += length
        self._out(f"{' '.join(boxes)} f")

    def _box(self, x: float, y: float, wide: float, high: float) -> str:
        """Return a rectangle as PDF writes it, from the lower left; a hair higher: no white line between rows."""
        numbers = (x * self.k, (self.h - y - high * 1.02) * self.k, wide * self.k, high * 1.02 * self.k)
        return " ".join(f"{number:.2f}" for number in numbers) + " re"


def _fitting(text: str, room: float, largest: float) -> float:
    size = largest
    while size > _LEAST and width(text, size, bold=True) > room:
        size -= _STEP
    return size
