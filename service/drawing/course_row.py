"""One course of a lap map: its pieces with tags and panels, its laps, and what is to be kept clear."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from service.drawing.cut_outs import Letters, draw_cut_out
from service.drawing.layout import Covered, Hung
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
)
from service.drawing.wall_paper import LEFT, Row, WallPaper
from solver.lengths import Unit, say
from solver.required import Edge, End, KeepClear, Side

_LAP = 0.9
"""A lap is drawn at least so wide."""
_LEAN = 4.0
_TAG, _RING = 2.6, 4.2
_LEAST = 0.6
"""Letters of a tag shrink to this share of their size where a piece is narrow."""


def draw_row(paper: WallPaper, row: Row, unit: Unit, letters: Letters) -> Iterator[Shape]:
    """Yield one course with everything in it; ``letters`` name the cut-outs."""
    yield _number(row)
    yield from _direction(row)
    for stretch in row.stretches:
        yield Line(tuple(_outline(paper, row, stretch)), OUTLINE, closed=True)
        yield from _laps(paper, row, stretch, unit)
        yield from _keep_clear(paper, row, stretch)
        for piece, left, right in _visible(paper, stretch):
            free = _widest_free(paper, piece, left, right)
            yield from _label(piece, row, free, unit)
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
    lean = min(_LEAN, (right - left) / 3)
    at_top, at_bottom = _leaning(stretch.required.left_end, lean)
    yield from ((left + at_bottom, row.bottom), (left + at_top, row.top))
    at_top, at_bottom = _leaning(stretch.required.right_end, lean)
    yield from ((right - at_top, row.top), (right - at_bottom, row.bottom))


def _leaning(end: End, lean: float) -> tuple[float, float]:
    """Return how far an end is cut back at its top and at its bottom."""
    if end.slope is None:
        return 0, 0
    return (lean, 0) if end.slope.long_edge is Edge.BOTTOM else (0, lean)


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
    starts = [paper.x(clear.start) for clear in _clear(row, stretch)]
    if any(begin - 1 < x < begin + width_of(text, 2) for x in starts):
        return Text(lap[0] - 0.6, row.bottom - 0.7, text, 2.0, Anchor.END)
    return Text(begin, row.bottom - 0.7, text, 2.0, Anchor.START)


def _clear(row: Row, stretch: Covered) -> Iterator[KeepClear]:
    clears = stretch.required.keep_clear
    return (clear for clear in clears if row.course is not None and clear.first <= row.course <= clear.last)


def _keep_clear(paper: WallPaper, row: Row, stretch: Covered) -> Iterator[Shape]:
    for clear in _clear(row, stretch):
        edges = [paper.x(max(clear.start, stretch.start)), paper.x(min(clear.end, stretch.end))]
        yield Strokes(tuple(((x, row.top), (x, row.bottom)) for x in edges), LIMIT)
        cut_outs = [c.cut_out for piece in stretch.pieces for c in piece.cut_outs]
        overlaid = any(c.start < clear.end and clear.start < c.end and c.edge is not Edge.TOP for c in cut_outs)
        if not overlaid and width_of("keep clear", 2) + 1 <= edges[1] - edges[0]:
            yield Text(sum(edges) / 2, row.bottom - 0.7, "keep clear", 2.0)


def _visible(paper: WallPaper, stretch: Covered) -> Iterator[tuple[Hung, float, float]]:
    """Yield each piece with the x between which it shows."""
    lefts = [paper.x(piece.left) for piece in stretch.pieces]
    rights = [paper.x(piece.right) for piece in stretch.pieces]
    for n, side in enumerate(stretch.on_top):
        if side is Side.RIGHT:
            rights[n] = min(rights[n], lefts[n + 1])
        else:
            lefts[n + 1] = max(lefts[n + 1], rights[n])
    return zip(stretch.pieces, lefts, rights, strict=True)


def _widest_free(paper: WallPaper, piece: Hung, left: float, right: float) -> tuple[float, float]:
    """Return the widest stretch of a piece that no cut-out touches."""
    edges = [left]
    for cut_out in sorted(piece.cut_outs, key=lambda c: c.cut_out.start):
        edges += [paper.x(cut_out.cut_out.start) - 0.5, paper.x(cut_out.cut_out.end) + 0.5]
    edges.append(right)
    free = [(max(a, left), min(b, right)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return max(free, key=lambda pair: pair[1] - pair[0])


def _label(piece: Hung, row: Row, free: tuple[float, float], unit: Unit) -> Iterator[Shape]:
    """Yield a piece's tag in its ring, stick and length below; beside it, at a row's end, where it is too narrow."""
    middle, room = sum(free) / 2, free[1] - free[0] - 0.8
    y = row.top + 2.9 + 0.13 * (row.height - 9)
    text, width = f"{piece.stick}  {say(piece.cut.length, unit)}", width_of(piece.tag, _TAG, bold=True)
    if width + 2.4 <= room:
        yield Ring(middle, y, max(_RING, width + 2.2), _RING, THIN)
    elif room < _LEAST * width and piece.tag == row.stretches[-1].pieces[-1].tag:
        yield Text(free[1] + 1, y + 0.9, f"{piece.tag}   {text}", _TAG, Anchor.START, bold=True)
        return
    yield Text(middle, y + 0.95, piece.tag, _TAG * max(_LEAST, min(1, room / width)), bold=True)
    yield Text(middle, y + 4.4, text if width_of(text, 2.2) <= room else piece.stick, 2.2)
