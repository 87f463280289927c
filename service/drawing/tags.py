"""What is written on a piece, on the drawing and on the sheet alike: its mark, and on a course where it belongs."""

from __future__ import annotations

from collections.abc import Iterable

from service.drawing.lettering import clean
from solver.plan import PatternUse, PlacedPiece


def tag(piece: PlacedPiece) -> str:
    """Return ``A`` for a piece of mark A, ``N·2·3`` for the third piece from the left in course 2 of mark N."""
    mark = clean(piece.mark)
    return mark if piece.course is None else f"{mark}·{piece.course}·{piece.piece}"


def tags_at(use: PatternUse, place: int) -> tuple[str, ...]:
    """Return the different tags that a pattern's cut at ``place`` has over its sticks, in order."""
    return tuple(dict.fromkeys(tag(stick.pieces[place]) for stick in use.sticks))


def common_tag(use: PatternUse, place: int) -> str:
    """Return what to write into the drawing at a cut: its tag, the marks it serves, or that the list says."""
    tags = tags_at(use, place)
    if len(tags) == 1:
        return tags[0]
    marks = tuple(dict.fromkeys(clean(stick.pieces[place].mark) for stick in use.sticks))
    return ", ".join(marks) if len(marks) < 4 else "see list"


def names(sticks: Iterable[str]) -> str:
    """Return the first and the last of consecutive sticks: ``S1 to S4``."""
    every = list(sticks)
    return every[0] if len(every) == 1 else f"{every[0]} to {every[-1]}"
