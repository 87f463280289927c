"""What is written on a piece of a lap map: its tag in a ring, and below it the stick it comes from and its length."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from service.drawing.layout import Covered, Hung
from service.drawing.leaning import lean_of
from service.drawing.lettering import width_of
from service.drawing.shapes import THIN, Anchor, Ring, Shape, Text
from service.drawing.wall_paper import Row, WallPaper
from solver.lengths import Unit, say
from solver.required import KeepClear, Side

_TAG = 2.6
_SIZES = (2.2, 2.0, 1.8)
_LEAST = 0.6
"""Letters of a tag shrink to this share of their size where a piece is narrow."""
_TWO_LINES = 12.0
"""A row so high has room for stick and length one under the other, above the figure of a lap."""
_LOW = 8.6

Span = tuple[float, float]
"""From one x on paper to another."""


def draw_labels(paper: WallPaper, row: Row, stretch: Covered, unit: Unit) -> Iterator[Shape]:
    """Yield what is written on each piece, where it covers no cut-out, no limit and no figure of a lap."""
    clears = [(paper.x(clear.start), paper.x(clear.end)) for clear in kept_clear(row, stretch)]
    for piece, seen in _visible(paper, stretch):
        holes = [(paper.x(c.cut_out.start) - 0.5, paper.x(c.cut_out.end) + 0.5) for c in piece.cut_outs]
        free = _widest_free(seen, [*holes, *clears])
        if _room(free) < _ring_width(piece):
            free = _widest_free(seen, holes)
        yield from _label(piece, row, free, unit)


def kept_clear(row: Row, stretch: Covered) -> Iterator[KeepClear]:
    """Yield what is to be kept clear in this course."""
    clears = stretch.required.keep_clear
    return (clear for clear in clears if row.course is not None and clear.first <= row.course <= clear.last)


def _visible(paper: WallPaper, stretch: Covered) -> Iterator[tuple[Hung, Span]]:
    """Yield each piece with the x between which it shows at its full height."""
    lefts = [paper.x(piece.left) for piece in stretch.pieces]
    rights = [paper.x(piece.right) for piece in stretch.pieces]
    for n, side in enumerate(stretch.on_top):
        if side is Side.RIGHT:
            rights[n] = min(rights[n], lefts[n + 1])
        else:
            lefts[n + 1] = max(lefts[n + 1], rights[n])
    width = rights[-1] - lefts[0]
    lefts[0] += lean_of(stretch.required.left_end, width)
    rights[-1] -= lean_of(stretch.required.right_end, width)
    return zip(stretch.pieces, zip(lefts, rights, strict=True), strict=True)


def _widest_free(seen: Span, taken: Iterable[Span]) -> Span:
    """Return the widest stretch of what is seen of a piece that nothing takes up."""
    begin, right = seen
    free: list[Span] = []
    for start, end in sorted(taken):
        free.append((begin, max(begin, min(start, right))))
        begin = max(begin, min(end, right))
    return max(*free, (begin, right), key=_room) if free else seen


def _room(free: Span) -> float:
    return free[1] - free[0] - 0.8


def _ring_width(piece: Hung) -> float:
    return width_of(piece.tag, _TAG, bold=True) + 2.4


def _label(piece: Hung, row: Row, free: Span, unit: Unit) -> Iterator[Shape]:
    """Yield tag and words; beside the row, at its end, where the piece is too narrow for either."""
    middle, room = sum(free) / 2, _room(free)
    y = row.top + 2.1 + 0.3 * (row.height - _LOW)
    width = width_of(piece.tag, _TAG, bold=True)
    if _ring_width(piece) <= room:
        yield Ring(middle, y, max(4.2, width + 2.2), min(4.2, 3.4 + 0.2 * (row.height - _LOW)), THIN)
    elif room < _LEAST * width and piece.tag == row.stretches[-1].pieces[-1].tag:
        words = f"{piece.tag}   {piece.stick}  {say(piece.cut.length, unit)}"
        yield Text(free[1] + 1, y + 0.9, words, _TAG, Anchor.START, bold=True)
        return
    yield Text(middle, y + 0.95, piece.tag, _TAG * max(_LEAST, min(1, room / width)), bold=True)
    yield from _words(piece, row, (middle, y), room, unit)


def _words(piece: Hung, row: Row, at: tuple[float, float], room: float, unit: Unit) -> Iterator[Text]:
    """Yield stick and length: in one line, smaller in a narrow piece, else in two, else the stick alone."""
    (x, y), length = at, say(piece.cut.length, unit)
    line, below = f"{piece.stick}  {length}", 3.75 + 0.15 * (row.height - _LOW)
    if size := _largest(line, room):
        yield Text(x, y + below, line, size)
    elif row.height >= _TWO_LINES and (size := _largest(length, room)):
        yield Text(x, y + below - 0.5, piece.stick, size)
        yield Text(x, y + below + 1.8, length, size)
    else:
        yield Text(x, y + below, piece.stick, _SIZES[1])


def _largest(text: str, room: float) -> float | None:
    return next((size for size in _SIZES if width_of(text, size) <= room), None)
