"""Labels for pieces and kept offcuts, on sheets of labels or on a roll: what to read, and a QR code to ask for more.

The code is the standard's own symbol (ISO/IEC 18004), of the address of the piece's page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

import segno
from fpdf import ViewerPreferences

from service.documents.blocks import unbroken
from service.documents.lettering import FILES, POINT, width, wrapped
from service.documents.painting import visual
from service.documents.tagging import TaggedPDF
from service.drawing.lettering import clean, taped
from service.views.pieces import offcuts_of, pieces_of
from solver.job import Job
from solver.plan import CutPlan

_FAMILY = "label"
_PAD = 2.0
_LARGEST, _LEAST, _STEP = 16.0, 9.0, 0.5
"""Letters of a name and of a length: as large as fits."""
_QUIET = 4
"""Modules that stay white about a symbol, as the standard asks."""


@dataclass(frozen=True, slots=True)
class Stock:
    """The labels in the printer: millimetres of the page and of a label, how many there are, and where they lie."""

    page: tuple[float, float]
    width: float
    height: float
    across: int = 1
    down: int = 1
    left: float = 0.0
    top: float = 0.0
    pitch_x: float = 0.0
    pitch_y: float = 0.0

    @property
    def fits(self) -> bool:
        """Whether every label lies on the page, and none on another."""
        wide = self.left + (self.across - 1) * self.pitch_x + self.width
        high = self.top + (self.down - 1) * self.pitch_y + self.height
        apart = (self.across == 1 or self.pitch_x >= self.width) and (self.down == 1 or self.pitch_y >= self.height)
        return apart and wide <= self.page[0] + 0.1 and high <= self.page[1] + 0.1

    def places(self) -> Iterator[tuple[float, float]]:
        """Yield the upper left corner of every label of a page, row by row."""
        for row in range(self.down):
            for column in range(self.across):
                yield self.left + column * self.pitch_x, self.top + row * self.pitch_y


LETTER, A4 = (215.9, 279.4), (210.0, 297.0)
STOCKS = {
    "letter-30": Stock(LETTER, 66.7, 25.4, 3, 10, 4.8, 12.7, 69.85, 25.4),
    "letter-10": Stock(LETTER, 101.6, 50.8, 2, 5, 4.0, 12.7, 106.4, 50.8),
    "a4-24": Stock(A4, 70.0, 37.0, 3, 8, 0.0, 0.5, 70.0, 37.0),
    "a4-14": Stock(A4, 99.1, 38.1, 2, 7, 4.65, 15.15, 101.6, 38.1),
    "roll": Stock((62.0, 29.0), 62.0, 29.0),
}
"""Common sheets of labels by paper and number, and a roll (from memory, no source: measure yours and set its sizes)."""


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label: what it is called, how long it is, further lines, and the address of its page."""

    name: str
    length: str
    lines: tuple[str, ...]
    address: str


def labels_of(job: Job, plan: CutPlan, address: str, *, pieces: bool, offcuts: bool) -> tuple[Label, ...]:
    """Return the labels of a plan; those of pieces in the order of the sticks. ``address`` leads to a piece's page."""
    made = []
    for piece in pieces_of(job, plan) if pieces else ():
        where = "" if piece.is_named_by_place else piece.where
        lines: tuple[str, ...] = (where, ", ".join(piece.shape), f"{clean(piece.material)}, {piece.stick}", piece.ends)
        made.append(Label(piece.name, taped(piece.length, job.units), lines, f"{address}{piece.id}"))
    for offcut in offcuts_of(job, plan) if offcuts else ():
        lines = (clean(offcut.material), f"from {offcut.stick}", offcut.ends)
        made.append(Label("keep", taped(offcut.length, job.units), lines, f"{address}{offcut.id}"))
    return tuple(made)


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
