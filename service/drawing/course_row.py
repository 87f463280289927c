"""One course of a lap map: its pieces with tags and panels, its laps, and what is to be kept clear."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from service.drawing.cut_outs import Letters, draw_cut_out
from service.drawing.layout import Covered
from service.drawing.leaning import end_line
from service.drawing.lettering import clean, fitted, width_of
from service.drawing.pattern import WIDTH
from service.drawing.piece_label import draw_labels, kept_clear
from service.drawing.shapes import (
    HIDDEN,
    LIMIT,
    OUTLINE,
    Anchor,
    Line,
    Point,
    Shape,
    Strokes,
    Text,
    arrow,
)
from service.drawing.wall_paper import LEFT, Row, WallPaper
from solver.lengths import Unit, say
from solver.required import Edge, Side

_LAP = 0.9
"""A lap is drawn at least so wide."""


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
