"""A drawing as SVG: one file without scripts, styles, references or ids, so that it can stand in any page.

Lines and letters take the colour of the text around them.
"""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from service.drawing.lettering import clean
from service.drawing.shapes import Anchor, Drawing, Line, Pen, Point, Ring, Shape, Strokes, Text

FONTS = "Sheet, DejaVu Sans Condensed, Arial Narrow, Roboto Condensed, Arial, sans-serif"


def svg(drawing: Drawing) -> str:
    """Return the drawing as an SVG element, complete with namespace, title and description."""
    width, height = _n(drawing.width), _n(drawing.height)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {width} {height}" width="{width}mm" '
        f'height="{height}mm" fill="none" stroke="currentColor" stroke-linejoin="round" font-family="{FONTS}">'
    )
    words = f"<title>{escape(clean(drawing.title))}</title><desc>{escape(clean(drawing.description))}</desc>"
    return "\n".join([head + words, *map(_element, drawing.shapes), "</svg>"]) + "\n"


def _element(shape: Shape) -> str:
    match shape:
        case Line():
            fill = ' fill="currentColor"' if shape.filled else ""
            return f'<path d="{_path(shape.points, closed=shape.closed)}"{fill}{_pen(shape.pen)}/>'
        case Strokes():
            path = "".join(_path(segment, closed=False) for segment in shape.segments)
            return f'<path d="{path}"{_pen(shape.pen)}/>'
        case Ring():
            x, y, round_ = shape.x - shape.width / 2, shape.y - shape.height / 2, _n(shape.height / 2)
            size = f'width="{_n(shape.width)}" height="{_n(shape.height)}"'
            return f'<rect x="{_n(x)}" y="{_n(y)}" {size} rx="{round_}"{_pen(shape.pen)}/>'
        case Text():
            return _text(shape)


def _text(text: Text) -> str:
    place = f'x="{_n(text.x)}" y="{_n(text.y)}"'
    turn = f' transform="rotate(-90 {_n(text.x)} {_n(text.y)})"' if text.upright else ""
    bold = ' font-weight="bold"' if text.bold else ""
    anchor = "" if text.anchor is Anchor.START else f" text-anchor={quoteattr(text.anchor)}"
    look = f'font-size="{_n(text.size)}" fill="currentColor" stroke="none"'
    return f"<text {place}{turn} {look}{bold}{anchor}>{escape(clean(text.text))}</text>"


def _path(points: Sequence[Point], *, closed: bool) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points) + ("Z" if closed else "")


def _pen(pen: Pen) -> str:
    dashes = f' stroke-dasharray="{" ".join(map(_n, pen.dashes))}"' if pen.dashes else ""
    return f' stroke-width="{_n(pen.width)}"{dashes}'


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
