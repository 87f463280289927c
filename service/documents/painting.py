"""Drawings set into a PDF, shape by shape as ``service.drawing.svg`` writes them.

PDF sets letters from left to right, whichever way they are read: ``visual`` puts them in the order they are seen in.
"""

from __future__ import annotations

import unicodedata

from fpdf import FPDF
from fpdf.bidi import BidiParagraph
from fpdf.enums import TextDirection

from service.drawing.lettering import LEFT_TO_RIGHT, clean
from service.drawing.shapes import Anchor, Drawing, Line, Pen, Point, Ring, Shape, Strokes, Text

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
    if not any(unicodedata.bidirectional(character) in ("R", "AL") for character in text):
        return text.replace(LEFT_TO_RIGHT, "")
    turned = BidiParagraph(text, base_direction=TextDirection.LTR).get_reordered_string()
    return str(turned).replace(LEFT_TO_RIGHT, "")
