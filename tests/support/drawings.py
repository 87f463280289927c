"""What a test asks of a drawing: its texts, and where its lines stand."""

from __future__ import annotations

from service.drawing.lettering import width_of
from service.drawing.shapes import Anchor, Drawing, Pen, Ring, Strokes, Text

_CAPITALS = 0.73
"""Height of a capital by the size of its letters."""


def words(drawing: Drawing) -> list[str]:
    """Return every text of a drawing, in the order it is drawn."""
    return [shape.text for shape in drawing.shapes if isinstance(shape, Text)]


def text_at(drawing: Drawing, text: str) -> Text:
    """Return the first text that reads so."""
    return next(shape for shape in drawing.shapes if isinstance(shape, Text) and shape.text == text)


def text_boxes(drawing: Drawing) -> list[tuple[float, float, float, float]]:
    """Return left, top, right and bottom of every text of capitals and digits."""
    return [_box(shape) for shape in drawing.shapes if isinstance(shape, Text)]


def _box(text: Text) -> tuple[float, float, float, float]:
    width = width_of(" ".join(text.text.split()), text.size, bold=text.bold)
    left = text.x - width * {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[text.anchor]
    return left, text.y - _CAPITALS * text.size, left + width, text.y


def rings(drawing: Drawing) -> list[Ring]:
    """Return every ring of a drawing."""
    return [shape for shape in drawing.shapes if isinstance(shape, Ring)]


def uprights(drawing: Drawing, pen: Pen) -> list[float]:
    """Return the x of every upright stroke of a pen, from the left."""
    strokes = (shape for shape in drawing.shapes if isinstance(shape, Strokes) and shape.pen == pen)
    return sorted(a for shape in strokes for (a, _), (b, _) in shape.segments if abs(a - b) < 1e-9)
