"""Where everything lies along one stick: pieces, room kept beside them, and what is left over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

from solver.plan import Cut, CutEnd, PatternUse


class Part(Enum):
    """What a span of a stick is."""

    PIECE = "piece"
    ROOM = "room"
    LEFT_OVER = "left over"


@dataclass(frozen=True, slots=True)
class Span:
    """One span of a stick in ticks from its left end; ``place`` is the cut it belongs to, None for the left-over."""

    part: Part
    start: int
    end: int
    place: int | None = None

    @property
    def length(self) -> int:
        """Its length in ticks."""
        return self.end - self.start


def spans_of(use: PatternUse, kerf: int) -> tuple[Span, ...]:
    """Return the spans of a pattern from the left.

    Pieces to the right of the left-over are laid out from the stick's right end, as they are measured.
    """
    after = use.left_over.after
    cuts = list(enumerate(use.cuts))
    left = list(_from_left(cuts[:after], kerf))
    mirrored = list(_from_left([(place, _mirrored(cut)) for place, cut in reversed(cuts[after:])], kerf))
    whole = use.stock_length
    right = [Span(s.part, whole - s.end, whole - s.start, s.place) for s in reversed(mirrored)]
    if not use.left_over.length:
        return (*left, *right)
    start = left[-1].end + kerf if left else 0
    end = right[0].start - kerf if right else whole
    return (*left, Span(Part.LEFT_OVER, start, end), *right)


def _from_left(cuts: Iterable[tuple[int, Cut]], kerf: int) -> Iterator[Span]:
    at = 0
    for place, cut in cuts:
        sizes = [(Part.PIECE, cut.length), (Part.ROOM, cut.room)]
        if cut.right is CutEnd.FACTORY and cut.left is not CutEnd.FACTORY:
            sizes.reverse()
        for part, size in sizes:
            if size:
                yield Span(part, at, at + size, place)
                at += size
        at += kerf


def _mirrored(cut: Cut) -> Cut:
    return Cut(cut.length, cut.right, cut.left, cut.room)
