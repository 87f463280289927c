"""The marks of the pieces of one stick, each in a ring: on its piece, or over the panel where it has no room there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from service.drawing.lettering import fitted, width_of
from service.drawing.panel import HEM, Face
from service.drawing.shapes import THIN, Ring, Shape, Strokes, Text
from service.drawing.spans import Part, spans_of
from service.drawing.tags import Tags
from solver.plan import PatternUse

SIZE = 2.8
ABOVE = 5.4
"""Height of a row of marks set over the panel."""
_RING = 4.6
_WIDEST = 60.0


@dataclass(frozen=True, slots=True)
class _Mark:
    """A mark and the x between which it belongs; ``count`` neighbours alike share it."""

    left: float
    right: float
    tag: str
    count: int = 1

    @property
    def text(self) -> str:
        tag = fitted(self.tag, SIZE, _WIDEST)
        return tag if self.count == 1 else f"{self.count} × {tag}"

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2

    @property
    def width(self) -> float:
        return max(_RING, width_of(self.text, SIZE, bold=True) + 2.4)

    @property
    def fits(self) -> bool:
        return self.count == 1 and self.width + 0.8 <= self.right - self.left


def draw_marks(face: Face, use: PatternUse, kerf: int, tags: Tags) -> tuple[tuple[Shape, ...], int]:
    """Return the pieces' marks in rings, and how many rows of them stand over the panel."""
    shapes: list[Shape] = []
    reach: list[float] = []
    right = face.x(use.stock_length)
    for mark in _shared(_marks(face, use, kerf, tags)):
        x, y = mark.middle, face.middle
        if not mark.fits:
            x = min(x, right - mark.width / 2)
            row = next((n for n, far in enumerate(reach) if far + 0.6 <= x - mark.width / 2), len(reach))
            reach[row:] = [x + mark.width / 2, *reach[row + 1 :]]
            y = face.top - 6.0 - row * ABOVE
            shapes.append(Strokes((((mark.middle, y + _RING / 2), (mark.middle, face.top + HEM + 1.5)),), THIN))
        shapes += [Ring(x, y, mark.width, _RING, THIN), Text(x, y + 1, mark.text, SIZE, bold=True)]
    return tuple(shapes), len(reach)


def _marks(face: Face, use: PatternUse, kerf: int, tags: Tags) -> Iterator[_Mark]:
    for span in spans_of(use, kerf):
        if span.part is Part.PIECE and span.place is not None:
            yield _Mark(face.x(span.start), face.x(span.end), tags.common(use, span.place))


def _shared(marks: Iterable[_Mark]) -> Iterator[_Mark]:
    """Join neighbours alike that are too narrow for a mark each."""
    last: _Mark | None = None
    for mark in marks:
        if last and last.tag == mark.tag and not mark.fits and mark.left - last.right < 1:
            last = replace(last, right=mark.right, count=last.count + 1)
            continue
        if last:
            yield last
        last = mark
    if last:
        yield last
