"""Labels as PDF: each at its place on the sheet, what to read beside the code that leads to its page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import groupby

import segno
from fpdf import ViewerPreferences

from service.documents.blocks import unbroken
from service.documents.labels import Label, Stock
from service.documents.lettering import FILES, POINT, width, wrapped
from service.documents.painting import visual
from service.documents.tagging import TaggedPDF

_FAMILY = "label"
_PAD = 2.0
_LARGEST, _LEAST, _STEP = 16.0, 9.0, 0.5
"""Letters of a name and of a length: as large as fits."""
_QUIET = 4
"""Modules that stay white about a symbol, as the standard asks."""


def labels_pdf(labels: Iterable[Label], stock: Stock, title: str, made: datetime, skip: int = 0) -> bytes:
    """Return labels as PDF; ``skip`` are taken off the first sheet already."""
    setter = _Setter(stock, title, made)
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


class _Setter(TaggedPDF):
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
            self.add_font(_FAMILY, "B" if bold else "", path)
        self.set_font(_FAMILY)
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
        """Set name and length as large as they fit, and of the further lines as many as there is room for."""
        bottom, y = top + self.stock.height - 2 * _PAD, top
        for text in (label.name, label.length):
            size = _fitting(text, room)
            y += size * POINT * 1.1
            self._line(x, y - 0.2 * size * POINT, wrapped(text, size, room, bold=True)[0], size, bold=True)
        further = [line for words in filter(None, label.lines) for line in wrapped(unbroken(words), _LEAST, room)]
        for line in further:
            y += _LEAST * POINT * 1.15
            if y <= bottom + 0.5:
                self._line(x, y - 0.2 * _LEAST * POINT, line, _LEAST)

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


def _fitting(text: str, room: float) -> float:
    size = _LARGEST
    while size > _LEAST and width(text, size, bold=True) > room:
        size -= _STEP
    return size
