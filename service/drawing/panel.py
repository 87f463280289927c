"""One stick seen face on: nail hem up, factory ends notched as they come, cuts drawn through, left-overs hatched.

Its spans say where everything lies along it: pieces, room kept beside them, and what is left over.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from service.drawing.drafting import cross_hatched, hatched
from service.drawing.lettering import width_of
from service.drawing.shapes import BOLD, HIDDEN, OUTLINE, THIN, Line, Pen, Point, Shape, Strokes, Text, box, rectangle
from solver.categories import LapEnds
from solver.lengths import Unit, say
from solver.materials import Material
from solver.plan import Cut, CutEnd, PatternUse

HEM = 1.8
LOCK = 1.0
NOTCH = 1.8
SLOTS = Pen(0.45, (2.2, 1.6))
_LABEL = 2.8


@dataclass(frozen=True, slots=True)
class Face:
    """The stick as drawn: ``left`` and ``top`` on paper, ticks per millimetre, its height, how its material looks."""

    left: float
    top: float
    scale: float
    height: float
    hem: bool
    notched: bool

    @property
    def bottom(self) -> float:
        """The y of its lower edge."""
        return self.top + self.height

    @property
    def middle(self) -> float:
        """The y about which marks stand: the middle of what shows."""
        return self.top + self.height / 2 + (HEM / 2 if self.hem else 0)

    def x(self, ticks: int) -> float:
        """Return where a distance from the stick's left end lies on paper."""
        return self.left + ticks / self.scale


def face_of(material: Material, left: float, top: float, scale: float) -> Face:
    """Return how a stick of this material is drawn: a panel with its hem, trim as a plain strip."""
    panel = material.category.kind.is_panel
    notched = panel and material.settings.lap_ends is not LapEnds.ANY
    return Face(left, top, scale, 9.6 if panel else 6.4, panel, notched)


def draw_panel(face: Face, use: PatternUse, kerf: int, unit: Unit) -> tuple[Shape, ...]:
    """Return the stick of one pattern with its cuts and what is left over, but without marks and dimensions."""
    spans = spans_of(use, kerf)
    shapes: list[Shape] = [Line(tuple(_outline(face, use)), OUTLINE, closed=True)]
    if face.hem:
        shapes += _hem(face, use.stock_length)
    shapes += _cuts(face, spans)
    for span in spans:
        if span.part is Part.ROOM:
            shapes.append(box(face.x(span.start), face.top, span.length / face.scale, face.height, HIDDEN))
        if span.part is Part.LEFT_OVER:
            shapes += _left_over(face, use, span, unit)
    return tuple(shapes)


def _outline(face: Face, use: PatternUse) -> Iterator[Point]:
    """Yield the corners, clockwise from the upper left; a factory end is cut back at hem and lock."""
    left, right, top, bottom = face.x(0), face.x(use.stock_length), face.top, face.bottom
    ends = use.factory_end
    yield from _end(left, NOTCH if face.notched and ends.has_left else 0, (bottom, top))
    yield from _end(right, -NOTCH if face.notched and ends.has_right else 0, (top, bottom))


def _end(x: float, notch: float, heights: tuple[float, float]) -> Iterator[Point]:
    first, last = heights
    down = 1 if first < last else -1
    if not notch:
        yield from ((x, first), (x, last))
        return
    first_depth, last_depth = (HEM, LOCK) if down == 1 else (LOCK, HEM)
    yield from ((x + notch, first), (x + notch, first + down * first_depth), (x, first + down * first_depth))
    yield from ((x, last - down * last_depth), (x + notch, last - down * last_depth), (x + notch, last))


def _hem(face: Face, length: int) -> Iterator[Shape]:
    left, right = face.x(0), face.x(length)
    inset = NOTCH if face.notched else 0
    yield Strokes((((left, face.top + HEM), (right, face.top + HEM)),), THIN)
    slots = face.top + HEM / 2
    yield Strokes((((left + inset + 1.4, slots), (right - inset - 1.4, slots)),), SLOTS)


def _cuts(face: Face, spans: Sequence[Span]) -> Iterator[Shape]:
    """Yield a line through the panel wherever it is cut, with a point over it."""
    for one, other in pairwise(spans):
        if one.place is None or one.place != other.place:
            x = (face.x(one.end) + face.x(other.start)) / 2
            yield Strokes((((x, face.top - 1.4), (x, face.bottom + 1.0)),), BOLD)
            point = (x - 0.8, face.top - 3.0), (x + 0.8, face.top - 3.0), (x, face.top - 1.4)
            yield Line(point, closed=True, filled=True)


def _left_over(face: Face, use: PatternUse, span: Span, unit: Unit) -> Iterator[Shape]:
    corners = tuple(_corners(face, use, span))
    if not use.left_over.keep:
        yield from (cross_hatched(part) for part in corners)
        return
    text = f"keep {say(span.length, unit)}"
    left, right = face.x(span.start), face.x(span.end)
    half, middle, y = width_of(text, _LABEL, bold=True) / 2 + 1, (left + right) / 2, face.middle
    fits = 2 * half <= right - left
    free = (middle - half, y - 2.4, middle + half, y + 2.4) if fits else None
    yield from (hatched(part, 3.0, free) for part in corners)
    if fits:
        yield Text(middle, y + 1, text, _LABEL, bold=True)


def _corners(face: Face, use: PatternUse, span: Span) -> Iterator[tuple[Point, ...]]:
    """Yield the hem, the face and the lock of a span, each a rectangle; hem and lock end where they are notched."""
    left, right = face.x(span.start), face.x(span.end)
    inner_left = left + (NOTCH if face.notched and use.factory_end.has_left and not span.start else 0)
    at_end = span.end == use.stock_length
    inner_right = right - (NOTCH if face.notched and use.factory_end.has_right and at_end else 0)
    if inner_left < inner_right:
        yield rectangle(inner_left, face.top, inner_right, face.top + HEM)
        yield rectangle(inner_left, face.bottom - LOCK, inner_right, face.bottom)
    yield rectangle(left, face.top + HEM, right, face.bottom - LOCK)


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
