"""A sheet as PDF, set with fpdf2: pure Python, embeds the glyphs it uses. Tagged, so that it can be read aloud."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from fpdf import ViewerPreferences
from fpdf.structure_tree import StructElem

from service.documents.blocks import Block, Sheet
from service.documents.laying import WIDTH, Band, Placed, laid, title
from service.documents.lettering import FILES
from service.documents.paging import FOOT, SIZES, TOP, Printed, foot_of, printed
from service.documents.painting import paint, visual
from service.documents.tagging import TaggedPDF

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
        for text in texts:
            self.set_font(style="B" if text.bold else "", size=text.size)
            self.text(self.left + text.x, top + text.y, visual(text.text))
