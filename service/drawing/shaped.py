"""Pieces that are no straight lengths, drawn one by one: sloped ends, notches from both ends, holes, and their heights.

They are drawn to no scale: each as wide as its figures need.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from service.drawing.drafting import Stretch, chain, hatched
from service.drawing.layout import Shape, peak
from service.drawing.lettering import in_lines, taped
from service.drawing.pattern import WIDTH
from service.drawing.shapes import (
    BOLD,
    LEAST,
    OUTLINE,
    THIN,
    Anchor,
    Drawing,
    Line,
    Point,
    Strokes,
    Text,
    box,
    moved,
    rectangle,
)
from service.drawing.shapes import Shape as Drawn
from solver.lengths import Unit, say_pitch
from solver.required import Edge, Side, Slope
from solver.runs import PieceCutOut

_IN_A_ROW = 4
_ROOM = WIDTH / _IN_A_ROW
_LONG, _HIGH = _ROOM - 4, 9.0
_LEAN, _HEM, _DEEP = 7.0, 1.6, 3.6
_SIZE, _NEXT = LEAST, 4.0
"""Letters on paper, and the distance of their lines."""
Alike = list[Shape]


def draw_shaped(shapes: Sequence[Shape], unit: Unit, exposure: int | None = None) -> Iterator[Drawing]:
    """Yield rows of pieces; those of one shape are drawn once, under all their names.

    Within a course of ``exposure`` ticks the slopes of a short piece meet in a point.
    """
    alike: dict[object, Alike] = {}
    for shape in shapes:
        alike.setdefault((_key(shape), _peak(shape, exposure)), []).append(shape)
    # pieces of one height side by side, the lowest first: fewer rows are high
    each = sorted((_piece(group, unit, exposure) for group in alike.values()), key=lambda drawn: drawn.height)
    for n in range(0, len(each), _IN_A_ROW):
        row = each[n : n + _IN_A_ROW]
        drawn = (moved(one.shapes, k * _ROOM, 0) for k, one in enumerate(row))
        words = " ".join(one.description for one in row)
        shapes_of_row = tuple(shape for one in drawn for shape in one)
        yield Drawing("Notches and sloped ends", words, WIDTH, max(one.height for one in row), shapes_of_row)


def _key(shape: Shape) -> object:
    """Return what pieces have in common that one drawing shows: of sloped ends alone not the length."""
    outs = tuple((c.from_left, c.from_right, c.cut_out.edge, c.cut_out.height) for c in shape.piece.cut_outs)
    return shape.left, shape.right, outs, shape.piece.cut.length if outs else None


def _peak(shape: Shape, exposure: int | None) -> int | None:
    return None if exposure is None else peak(shape.left, shape.right, shape.piece.cut.length, exposure)


def _piece(group: Alike, unit: Unit, exposure: int | None) -> Drawing:
    shape, high = group[0], _peak(group[0], exposure)
    outs = shape.piece.cut_outs
    length = taped(shape.piece.cut.length, unit) if outs or high is not None else ""
    names = ", ".join(dict.fromkeys(one.piece.tag for one in group))
    said = list(_words(shape, unit))
    if high is not None:
        said.append(f"the slopes meet {taped(high, unit)} above the bottom; face-fasten it")
    lines = [line for words in said for line in in_lines(words, _SIZE, _LONG)]
    heads = [*in_lines(names, _SIZE, _LONG, bold=True), f"{length} long"][: None if length else -1]
    top = len(heads) * _NEXT + 1.5
    shapes: list[Drawn] = [
        Text(0, 3 + _NEXT * n, line, _SIZE, Anchor.START, bold=line != f"{length} long") for n, line in enumerate(heads)
    ]
    shapes += _panel(shape, top, pointed=high is not None)
    y, marks = top + _HIGH, _marks(len(outs))
    for n, cut_out in enumerate(outs):
        drawn = chain(_dimensions(cut_out, shape, marks, n, unit), y + 5.0, y + 0.6)
        shapes += drawn.shapes
        y = drawn.bottom
    shapes += [Text(0, y + _NEXT * (n + 1), line, _SIZE, Anchor.START) for n, line in enumerate(lines)]
    told = f"{names}: {'; '.join([*[length] * bool(length), *_along(shape, unit), *said])}."
    return Drawing(names, told, _ROOM, y + _NEXT * len(lines) + 2, tuple(shapes))


def _marks(count: int) -> list[float]:
    """Return where the sides of so many cut-outs stand along a drawn piece."""
    parts = 2 * count + 1
    return [_LONG * n / parts for n in range(1, parts)]


def _panel(shape: Shape, top: float, *, pointed: bool) -> Iterator[Drawn]:
    if pointed:
        yield Line(((0, top + _HIGH), (_LONG / 2, top), (_LONG, top + _HIGH)), BOLD, closed=True)
        return
    left = _end(shape.left, 0, top, 1)
    right = _end(shape.right, _LONG, top, -1)
    yield Line((*left, *reversed(right)), BOLD, closed=True)
    hem = [_x_at(end, top + _HEM) for end in (left, right)]
    yield Strokes((((hem[0], top + _HEM), (hem[1], top + _HEM)),), THIN)
    marks = _marks(len(shape.piece.cut_outs))
    for n, cut_out in enumerate(shape.piece.cut_outs):
        y = {Edge.TOP: top, Edge.BOTTOM: top + _HIGH - _DEEP, Edge.HOLE: top + (_HIGH - _DEEP) / 2}[
            cut_out.cut_out.edge
        ]
        x, far = marks[2 * n], marks[2 * n + 1]
        at_left, at_right = cut_out.from_left <= 0, cut_out.from_right <= 0
        x, far = 0.0 if at_left else x, _LONG if at_right else far
        yield box(x, y, far - x, _DEEP, OUTLINE)
        yield hatched(rectangle(x, y, far, y + _DEEP), 1.2)


def _end(slope: Slope | None, x: float, top: float, inward: int) -> tuple[Point, ...]:
    """Return an end from its bottom to its top; its long edge stands at ``x``."""
    bottom = top + _HIGH
    if slope is None:
        return (x, bottom), (x, top)
    short, half = x + inward * _LEAN, (top + bottom) / 2
    bend = ((x, half),) if slope.upright else ()
    if slope.long_edge is Edge.BOTTOM:
        return (x, bottom), *bend, (short, top)
    return (short, bottom), *bend, (x, top)


def _x_at(end: Sequence[Point], y: float) -> float:
    """Return where an end, from its bottom to its top, crosses a height."""
    for (ax, ay), (bx, by) in pairwise(end):
        if by <= y <= ay:
            return ax + (bx - ax) * (ay - y) / (ay - by)
    return end[-1][0]


def _dimensions(cut_out: PieceCutOut, shape: Shape, marks: Sequence[float], n: int, unit: Unit) -> Sequence[Stretch]:
    """Return the chain of one cut-out: from the left end, how wide, from the right end."""
    left, right = max(0, cut_out.from_left), max(0, cut_out.from_right)
    x, far = marks[2 * n] if left else 0.0, marks[2 * n + 1] if right else _LONG
    wide = shape.piece.cut.length - left - right
    parts = [(0.0, x, left), (x, far, wide), (far, _LONG, right)]
    return [Stretch(a, b, taped(length, unit)) for a, b, length in parts if length]


def _along(shape: Shape, unit: Unit) -> Iterator[str]:
    """Yield where each cut-out lies, in words."""
    for cut_out in shape.piece.cut_outs:
        left, right = max(0, cut_out.from_left), max(0, cut_out.from_right)
        yield f"cut out from {taped(left, unit)} from its left end to {taped(right, unit)} from its right end"


def _words(shape: Shape, unit: Unit) -> Iterator[str]:
    for side, slope in ((Side.LEFT, shape.left), (Side.RIGHT, shape.right)):
        if slope:
            yield f"{side} end {slope_words(slope, unit)}"
    yield from (height_words(cut_out, unit) for cut_out in shape.piece.cut_outs)


def slope_words(slope: Slope, unit: Unit) -> str:
    """Return what a sloped end is: its pitch, and which edge is the longer."""
    pitch = say_pitch(slope.pitch, unit)
    upright = f"upright {taped(slope.upright, unit)} from the {slope.long_edge}, then " if slope.upright else ""
    return f"{upright}{pitch}, long at the {slope.long_edge}"


def height_words(cut_out: PieceCutOut, unit: Unit) -> str:
    """Return how high a cut-out lies in its panel."""
    height, top = taped(cut_out.cut_out.height, unit), cut_out.cut_out.top
    if cut_out.cut_out.edge is Edge.HOLE and top is not None:
        return f"rectangular hole, from {height} up to {taped(top, unit)} above the lip"
    return {
        Edge.TOP: f"from the top down to {height} above the lip",
        Edge.BOTTOM: f"from the lip up to {height}",
        Edge.HOLE: f"hole, lower edge {height} above the lip",
    }[cut_out.cut_out.edge]
