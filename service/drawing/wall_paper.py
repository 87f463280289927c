"""A wall on paper: its rows from the lowest course up, what they span, and the openings between their stretches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from service.drawing.layout import Covered, WallLayout
from solver.lengths import TICKS_PER_INCH

LEFT = 14.0
RIGHT = 8.0
TALL_ROW, LOW_ROW = 11.0, 6.8
"""A row holds two lines of letters; it is lower where there are so many that the wall would be taller than its room."""
_LEAST_OPENING = 2 * TICKS_PER_INCH


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the drawing: stretches of one course that do not overlap, and its y on paper."""

    course: int | None
    stretches: tuple[Covered, ...]
    top: float
    height: float

    @property
    def bottom(self) -> float:
        """The y of its lower edge."""
        return self.top + self.height


@dataclass(frozen=True, slots=True)
class Opening:
    """A stretch that courses leave open, in ticks along the wall and in y on paper."""

    start: int
    end: int
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class WallPaper:
    """Where a wall lies on paper: ticks along it, ticks per millimetre, and its rows from the top one down.

    ``exposure`` is what a course covers, in ticks, where it is known.
    """

    start: int
    end: int
    scale: float
    rows: tuple[Row, ...]
    exposure: int | None = None

    def x(self, ticks: int) -> float:
        """Return where a place along the wall lies on paper."""
        return LEFT + (ticks - self.start) / self.scale

    def moved(self, y: float) -> WallPaper:
        """Return the wall so much lower on its paper."""
        return replace(self, rows=tuple(replace(row, top=row.top + y) for row in self.rows))

    @property
    def bottom(self) -> float:
        """The y of the lowest row's lower edge."""
        return self.rows[-1].bottom


def on_paper(wall: WallLayout, width: float, top: float, tallest: float = 215.0) -> WallPaper:
    """Return the wall between the margins of a paper ``width`` wide, its highest row at ``top``."""
    start = min(min(c.start, c.pieces[0].left) for c in wall.stretches)
    end = max(max(c.end, c.pieces[-1].right) for c in wall.stretches)
    rows = list(_rows(wall.stretches))
    tall = max(LOW_ROW, min(TALL_ROW, tallest / len(rows)))
    placed = tuple(Row(course, row, top + n * tall, tall) for n, (course, row) in enumerate(reversed(rows)))
    return WallPaper(start, end, (end - start) / (width - LEFT - RIGHT), placed, wall.exposure)


def _rows(stretches: Sequence[Covered]) -> Iterator[tuple[int | None, tuple[Covered, ...]]]:
    """Yield rows from the lowest; what would lie on another stretch of its course takes a row of its own."""
    courses = sorted({c.course for c in stretches}, key=lambda course: course or 0)
    for course in courses:
        rows: list[list[Covered]] = []
        for stretch in (c for c in stretches if c.course == course):
            free = next((row for row in rows if row[-1].end <= stretch.start), None)
            if free is None:
                rows.append([stretch])
            else:
                free.append(stretch)
        yield from ((course, tuple(row)) for row in rows)


def openings(paper: WallPaper) -> tuple[Opening, ...]:
    """Return what lies open between stretches, joined over rows that leave the same open."""
    found: list[Opening] = []
    for row in paper.rows:
        for start, end in _gaps(row.stretches):
            above = next((o for o in found if (o.start, o.end, o.bottom) == (start, end, row.top)), None)
            if above:
                found.remove(above)
            found.append(Opening(start, end, above.top if above else row.top, row.bottom))
    return tuple(found)


def _gaps(stretches: Iterable[Covered]) -> Iterator[tuple[int, int]]:
    for one, other in pairwise(stretches):
        if other.start - one.end > _LEAST_OPENING:
            yield one.end, other.start
