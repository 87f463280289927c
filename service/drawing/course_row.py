"""One course of a wall sheet: its pieces with names and lengths, its laps, its cut-outs, and what is to be kept clear.

A piece has what it is called in a ring, and its length beside or below. Sloped ends lean, but not to scale.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from service.drawing.drafting import hatched
from service.drawing.layout import Covered, Hung
from service.drawing.lettering import clean, fitted, taped, width_of
from service.drawing.shapes import (
    HIDDEN,
    LEAST,
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
from service.drawing.wall_paper import LEFT, Row, WallPaper
from solver.lengths import Unit
from solver.required import Edge, End, KeepClear, Side
from solver.runs import PieceCutOut

_LAP = 0.9
"""A lap is drawn at least so wide."""
_RING, _ROUND = 3.4, 2.0
"""Height of the ring about a name, and how much wider it is than that."""
_ABOVE, _BELOW = 3.0, 0.8
"""Baselines: of names, from the top of the row; of lengths and laps, from its bottom."""
Span = tuple[float, float]
"""From one x on paper to another."""
_DEEP = 2.4
"""Height of a cut-out on paper, which is not to scale."""
_LEAN = 4.0
"""How far a sloped end leans on paper, at most."""


def draw_row(paper: WallPaper, row: Row, unit: Unit) -> Iterator[Shape]:
    """Yield one course with everything in it."""
    yield _number(row)
    yield from _direction(row, paper.x(paper.end) + 4.5)
    for stretch in row.stretches:
        yield Line(tuple(_outline(paper, row, stretch)), OUTLINE, closed=True)
        figures = list(_figures(paper, row, stretch, unit))
        yield from (_text(row, x, text) for x, text in figures)
        yield from _laps(paper, row, stretch)
        yield from _keep_clear(paper, row, stretch)
        for piece in stretch.pieces:
            yield from (shape for cut_out in piece.cut_outs for shape in draw_cut_out(paper, row, piece, cut_out))
        taken = [(x - 0.5, x + width_of(text, LEAST) + 0.5) for x, text in figures]
        yield from _labels(paper, row, stretch, taken, unit)


def _text(row: Row, x: float, text: str) -> Text:
    return Text(x, row.bottom - _BELOW, text, LEAST, Anchor.START)


def _number(row: Row) -> Text:
    """Return the row's course, or the material of what belongs to no course."""
    y = row.top + row.height / 2 + 1
    if row.course is not None:
        ripped = any(stretch.required.rips_in(row.course) for stretch in row.stretches)
        return Text(LEFT - 2, y, f"{'rip ' * ripped}{row.course}", LEAST, Anchor.END, bold=True)
    name = fitted(clean(row.stretches[0].required.mark), LEAST, LEFT - 3)
    return Text(LEFT - 2, y, name, LEAST, Anchor.END, bold=True)


def _direction(row: Row, x: float) -> Iterator[Shape]:
    """Yield an arrow beside the row, about an x, the way it is hung."""
    sides = {side for stretch in row.stretches for side in stretch.on_top}
    if len(sides) == 1:
        y, way = row.top + row.height / 2, 1 if sides == {Side.RIGHT} else -1
        yield from arrow((x - 2.6 * way, y), (x + 2.6 * way, y))


def _outline(paper: WallPaper, row: Row, stretch: Covered) -> Iterator[Point]:
    left, right = paper.x(stretch.pieces[0].left), paper.x(stretch.pieces[-1].right)
    heights, required = (row.bottom, row.top), stretch.required
    if paper.exposure is not None and stretch.peak_under(paper.exposure) is not None:
        yield from ((left, row.bottom), ((left + right) / 2, row.top), (right, row.bottom))
        return
    yield from end_line(required.left_end, Side.LEFT, left, heights, right - left)
    yield from reversed(end_line(required.right_end, Side.RIGHT, right, heights, right - left))


def _laps(paper: WallPaper, row: Row, stretch: Covered) -> Iterator[Shape]:
    """Yield for each lap the edge on top and the edge under it; a gap has two edges that show."""
    for (one, other), side in zip(pairwise(stretch.pieces), stretch.on_top, strict=True):
        left, right = paper.x(other.left), paper.x(one.right)
        if left > right:
            pens = OUTLINE, OUTLINE
        else:
            right = max(right, left + _LAP)
            pens = (OUTLINE, HIDDEN) if side is Side.RIGHT else (HIDDEN, OUTLINE)
        for x, pen in zip((left, right), pens, strict=True):
            yield Strokes((((x, row.top), (x, row.bottom)),), pen)


def _figures(paper: WallPaper, row: Row, stretch: Covered, unit: Unit) -> Iterator[tuple[float, str]]:
    """Yield the figure of each lap and the x it begins at: right of it, or left of it where a line stands there."""
    limits = _limits(paper, row, stretch)
    for one, other, place in zip(stretch.pieces, stretch.pieces[1:], stretch.laps_at, strict=False):
        text = taped(place, unit).removesuffix(" mm")
        wide, edges = width_of(text, LEAST), sorted((paper.x(other.left), paper.x(one.right)))
        begin = max(edges[1], edges[0] + _LAP) + 0.6
        if any(begin - 1 < x < begin + wide for x in (*limits, paper.x(other.right))):
            begin = edges[0] - 0.6 - wide
            # a limit close beside the lap is stepped over
            begin = min([begin, *(x - 0.6 - wide for x in limits if begin < x < begin + wide)])
        yield begin, text


def _keep_clear(paper: WallPaper, row: Row, stretch: Covered) -> Iterator[Shape]:
    limits = _limits(paper, row, stretch)
    for edges in zip(limits[::2], limits[1::2], strict=True):
        yield Strokes(tuple(((x, row.top), (x, row.bottom)) for x in edges), LIMIT)


def _limits(paper: WallPaper, row: Row, stretch: Covered) -> list[float]:
    """Return the x of each edge of what is to be kept clear in a course."""
    clears = kept_clear(row, stretch)
    return [
        paper.x(x) for clear in clears for x in (max(clear.start, stretch.start), min(clear.end, stretch.end))
    ]


def kept_clear(row: Row, stretch: Covered) -> Iterator[KeepClear]:
    """Yield what is to be kept clear in this course."""
    clears = stretch.required.keep_clear
    return (clear for clear in clears if row.course is not None and clear.first <= row.course <= clear.last)


def _labels(paper: WallPaper, row: Row, stretch: Covered, taken: list[Span], unit: Unit) -> Iterator[Shape]:
    """Yield what is written on each piece, where it covers no cut-out, no figure of a lap and no limit if it can."""
    limits = [(x - 0.5, x + 0.5) for x in _limits(paper, row, stretch)]
    for piece, seen in _visible(paper, stretch):
        above, below = (
            [
                (paper.x(c.cut_out.start) - 0.5, paper.x(c.cut_out.end) + 0.5)
                for c in piece.cut_outs
                if c.cut_out.edge is not clear_of
            ]
            for clear_of in (Edge.BOTTOM, Edge.TOP)
        )
        free = _widest_free(seen, [*above, *limits])
        if _room(free) < width_of(piece.label, LEAST, bold=True) + _ROUND:
            free = _widest_free(seen, above)
        yield from _label(piece, row, free, _widest_free(seen, [*below, *taken, *limits]), unit)


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


def _label(piece: Hung, row: Row, above: Span, below: Span, unit: Unit) -> Iterator[Shape]:
    """Yield name and length: in one line, or in two; what has no room stands in the list of pieces alone."""
    room, length = _room(above), taped(piece.cut.length, unit).removesuffix(" mm")
    name = piece.label if width_of(piece.label, LEAST, bold=True) <= room else piece.label.rpartition("·")[2]
    wide, long = width_of(name, LEAST, bold=True), width_of(length, LEAST)
    y, ringed = row.top + _ABOVE, wide + _ROUND
    beside = ringed + 1.2 + long <= room
    middle = sum(above) / 2 - (1.2 + long) / 2 * beside
    if ringed <= room:
        yield Ring(middle, y - 0.36 * LEAST, max(_RING, ringed), _RING, THIN)
    if wide <= room + 0.8:
        yield Text(middle, y, name, LEAST, bold=True)
    if beside:
        yield Text(middle + ringed / 2 + 1.2, y, length, LEAST, Anchor.START)
    elif long <= _room(below):
        yield Text(sum(below) / 2, row.bottom - _BELOW, length, LEAST)


def draw_cut_out(paper: WallPaper, row: Row, piece: Hung, cut_out: PieceCutOut) -> Iterator[Shape]:
    """Yield a cut-out of one piece where it lies along the wall; its height is a sign only."""
    left = max(paper.x(cut_out.cut_out.start), paper.x(piece.left))
    right = min(paper.x(cut_out.cut_out.end), paper.x(piece.right))
    right = max(right, left + 0.8)
    middle = row.bottom - (row.height + _DEEP) / 2
    y = {Edge.TOP: row.top, Edge.BOTTOM: row.bottom - _DEEP, Edge.HOLE: middle}[cut_out.cut_out.edge]
    yield box(left, y, right - left, _DEEP, OUTLINE)
    yield hatched(rectangle(left, y, right, y + _DEEP), 1.0)


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
