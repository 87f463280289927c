"""Cut-outs of pieces: their letters, and their place on the lap map."""

from __future__ import annotations

from collections.abc import Iterator
from string import ascii_lowercase

from service.drawing.hatching import hatched
from service.drawing.layout import Hung, WallLayout
from service.drawing.shapes import OUTLINE, Shape, Text, box, rectangle
from service.drawing.wall_paper import Row, WallPaper
from solver.plan import PieceCutOut
from solver.required import Edge

Letters = dict[tuple[str, PieceCutOut], str]
"""The letter of a cut-out by the tag of its piece."""
_DEEP = 2.6
"""Height of a cut-out on paper, which is not to scale."""


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
