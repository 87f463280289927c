"""One course of a lap map: its pieces with tags and panels, its laps, its cut-outs, and what is to be kept clear.

A piece has its tag in a ring, and below it the stick it comes from and its length. Sloped ends lean, but not to scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from string import ascii_lowercase

from service.drawing.drafting import hatched
from service.drawing.layout import Covered, Hung, WallLayout
from service.drawing.lettering import clean, fitted, width_of
from service.drawing.pattern import WIDTH
from service.drawing.shapes import (
    HIDDEN,
    LIMIT,
    OUTLINE,
    THIN,
    Anchor,
    Line,
    Point,
    Ring,
    Shape,
    Strokes,
    Text,
    arrow,
    box,
    rectangle,
)
from service.drawing.wall_paper import LEFT, LOW_ROW, Row, WallPaper
from solver.lengths import Unit, say
from solver.plan import PieceCutOut
from solver.required import Edge, End, KeepClear, Side

_LAP = 0.9
"""A lap is drawn at least so wide."""
_TAG = 2.6
_SIZES = (2.2, 2.0, 1.8)
"""Letters of a tag, and of what else is written on a piece: the largest that fits."""
_LEAST = 0.6
"""Letters of a tag shrink to this share of their size where a piece is narrow."""
_TWO_LINES = 12.0
"""A row so high has room for stick and length one under the other, above the figure of a lap."""
Span = tuple[float, float]
"""From one x on paper to another."""
Letters = dict[tuple[str, PieceCutOut], str]
"""The letter of a cut-out by the tag of its piece."""
_DEEP = 2.6
"""Height of a cut-out on paper, which is not to scale."""
_LEAN = 4.0
"""How far a sloped end leans on paper, at most."""


def draw_row(paper: WallPaper, row: Row, unit: Unit, letters: Letters) -> Iterator[Shape]:
    """Yield one course with everything in it; ``letters`` name the cut-outs."""
    yield _number(row)
    yield from _direction(row)
    for stretch in row.stretches:
        yield Line(tuple(_outline(paper, row, stretch)), OUTLINE, closed=True)
        yield from _laps(paper, row, stretch, unit)
        yield from _keep_clear(paper, row, stretch)
        yield from draw_labels(paper, row, stretch, unit)
        for piece in stretch.pieces:
            for cut_out in piece.cut_outs:
                yield from draw_cut_out(paper, row, piece, cut_out, letters[piece.tag, cut_out])


def _number(row: Row) -> Text:
    """Return the row's course, or the material of what belongs to no course."""
    y = row.top + row.height / 2 + 1
    if row.course is not None:
        return Text(LEFT - 2, y, str(row.course), 3.4, Anchor.END, bold=True)
    name = fitted(clean(row.stretches[0].required.material), 2, LEFT - 3)
    return Text(LEFT - 2, y, name, 2, Anchor.END, bold=True)


def _direction(row: Row) -> Iterator[Shape]:
    """Yield an arrow beside the row the way it is hung."""
    sides = {side for stretch in row.stretches for side in stretch.on_top}
    if len(sides) == 1:
        x, y, way = WIDTH - 4, row.top + row.height / 2, 1 if sides == {Side.RIGHT} else -1
        yield from arrow((x - 2.6 * way, y), (x + 2.6 * way, y))


def _outline(paper: WallPaper, row: Row, stretch: Covered) -> Iterator[Point]:
    left, right = paper.x(stretch.pieces[0].left), paper.x(stretch.pieces[-1].right)
    heights, required = (row.bottom, row.top), stretch.required
    yield from end_line(required.left_end, Side.LEFT, left, heights, right - left)
    yield from reversed(end_line(required.right_end, Side.RIGHT, right, heights, right - left))


def _laps(paper: WallPaper, row: Row, stretch: Covered, unit: Unit) -> Iterator[Shape]:
    """Yield for each lap the edge on top, the edge under it, and its place; a gap has two edges that show."""
    for (one, other), side, place in zip(pairwise(stretch.pieces), stretch.on_top, stretch.laps_at, strict=True):
        left, right = paper.x(other.left), paper.x(one.right)
        if left > right:
            pens = OUTLINE, OUTLINE
        else:
            right = max(right, left + _LAP)
            pens = (OUTLINE, HIDDEN) if side is Side.RIGHT else (HIDDEN, OUTLINE)
        for x, pen in zip((left, right), pens, strict=True):
            yield Strokes((((x, row.top), (x, row.bottom)),), pen)
        yield _place(paper, row, stretch, (min(left, right), max(left, right)), say(place, unit))


def _place(paper: WallPaper, row: Row, stretch: Covered, lap: tuple[float, float], text: str) -> Text:
    """Return the figure of a lap: right of it, or left of it where a stretch to be kept clear begins there."""
    begin = lap[1] + 0.6
    starts = [paper.x(clear.start) for clear in kept_clear(row, stretch)]
    if any(begin - 1 < x < begin + width_of(text, 2) for x in starts):
        return Text(lap[0] - 0.6, row.bottom - 0.7, text, 2.0, Anchor.END)
    return Text(begin, row.bottom - 0.7, text, 2.0, Anchor.START)


def _keep_clear(paper: WallPaper, row: Row, stretch: Covered) -> Iterator[Shape]:
    for clear in kept_clear(row, stretch):
        edges = [paper.x(max(clear.start, stretch.start)), paper.x(min(clear.end, stretch.end))]
        yield Strokes(tuple(((x, row.top), (x, row.bottom)) for x in edges), LIMIT)
        cut_outs = [c.cut_out for piece in stretch.pieces for c in piece.cut_outs]
        overlaid = any(c.start < clear.end and clear.start < c.end and c.edge is not Edge.TOP for c in cut_outs)
        if not overlaid and width_of("keep clear", 2) + 1 <= edges[1] - edges[0]:
            yield Text(sum(edges) / 2, row.bottom - 0.7, "keep clear", 2.0)


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
    y = row.top + 2.1 + 0.3 * (row.height - LOW_ROW)
    width = width_of(piece.tag, _TAG, bold=True)
    if _ring_width(piece) <= room:
        yield Ring(middle, y, max(4.2, width + 2.2), min(4.2, 3.4 + 0.2 * (row.height - LOW_ROW)), THIN)
    elif room < _LEAST * width and piece.tag == row.stretches[-1].pieces[-1].tag:
        words = f"{piece.tag}   {piece.stick}  {say(piece.cut.length, unit)}"
        yield Text(free[1] + 1, y + 0.9, words, _TAG, Anchor.START, bold=True)
        return
    yield Text(middle, y + 0.95, piece.tag, _TAG * max(_LEAST, min(1, room / width)), bold=True)
    yield from _words(piece, row, (middle, y), room, unit)


def _words(piece: Hung, row: Row, at: tuple[float, float], room: float, unit: Unit) -> Iterator[Text]:
    """Yield stick and length: in one line, smaller in a narrow piece, else in two, else the stick alone."""
    (x, y), length = at, say(piece.cut.length, unit)
    line, below = f"{piece.stick}  {length}", 3.75 + 0.15 * (row.height - LOW_ROW)
    if size := _largest(line, room):
        yield Text(x, y + below, line, size)
    elif row.height >= _TWO_LINES and (size := _largest(length, room)):
        yield Text(x, y + below - 0.5, piece.stick, size)
        yield Text(x, y + below + 1.8, length, size)
    else:
        yield Text(x, y + below, piece.stick, _SIZES[1])


def _largest(text: str, room: float) -> float | None:
    return next((size for size in _SIZES if width_of(text, size) <= room), None)


def lettered(wall: WallLayout) -> Letters:
    """Return a letter for every cut-out of every piece of a wall: a to z, then aa, ab, ..."""
    every = [(piece.tag, cut_out) for c in wall.stretches for piece in c.pieces for cut_out in piece.cut_outs]
    return {key: _letter(n) for n, key in enumerate(dict.fromkeys(every))}


def _letter(n: int) -> str:
    first, last = divmod(n, 26)
    return (ascii_lowercase[first - 1] if first else "") + ascii_lowercase[last]


def draw_cut_out(paper: WallPaper, row: Row, piece: Hung, cut_out: PieceCutOut, letter: str) -> Iterator[Shape]:
    """Yield a cut-out of one piece where it lies along the wall, with its letter; its height is a sign only."""
    left = max(paper.x(cut_out.cut_out.start), paper.x(piece.left))
    right = min(paper.x(cut_out.cut_out.end), paper.x(piece.right))
    right = max(right, left + 0.8)
    y = {Edge.TOP: row.top, Edge.BOTTOM: row.bottom - _DEEP, Edge.HOLE: row.bottom - _DEEP - 1.8}[cut_out.cut_out.edge]
    yield box(left, y, right - left, _DEEP, OUTLINE)
    yield hatched(rectangle(left, y, right, y + _DEEP), 1.0)
    below = cut_out.cut_out.edge is Edge.TOP
    yield Text((left + right) / 2, y + _DEEP + 2.2 if below else y - 0.7, letter, 2.3, bold=True)


def lean_of(end: End, width: float) -> float:
    """Return how far the short edge of an end of what is ``width`` millimetres wide on paper is cut back."""
    return min(_LEAN, width / 3) if end.slope else 0


def end_line(end: End, side: Side, x: float, heights: tuple[float, float], width: float) -> tuple[Point, ...]:
    """Return the points of an end from its bottom to its top (``heights``); its long edge stands at ``x``.

    An end that is partly upright bends halfway up: a sign, not a measure.
    """
    bottom, top = heights
    if end.slope is None:
        return (x, bottom), (x, top)
    short = x + lean_of(end, width) * (1 if side is Side.LEFT else -1)
    bend = ((x, (bottom + top) / 2),) if end.slope.upright else ()
    if end.slope.long_edge is Edge.BOTTOM:
        return (x, bottom), *bend, (short, top)
    return (short, bottom), *bend, (x, top)
