"""What is wanted: pieces and runs, what their ends meet, and the length each is cut at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from solver.ticks import TICKS_PER_INCH


class Meets(StrEnum):
    """What an end of a stretch meets, as seen facing the wall from outside."""

    PLAIN = "plain"
    """Nothing is added or taken."""
    CHANNEL = "channel"
    """Measured to the back of the pocket: the expansion gap is taken off."""
    LAP = "lap"
    """The next panel laps it: the lap is added."""


class Side(StrEnum):
    """Left or right, seen facing the wall from outside."""

    LEFT = "left"
    RIGHT = "right"


class Edge(StrEnum):
    """An edge of a panel, or a hole in its face."""

    TOP = "top"
    BOTTOM = "bottom"
    HOLE = "hole"


@dataclass(frozen=True, slots=True)
class Slope:
    """A sloped end: rise over run, the way it leans, and which edge of the panel is the longer.

    ``upright`` is how much of the end, in ticks from the long edge, is plumb before the slope begins.
    """

    pitch: Fraction
    leans: Side
    long_edge: Edge
    upright: int = 0


@dataclass(frozen=True, slots=True)
class End:
    """One end of a stretch: what it meets, and its slope if it has one."""

    meets: Meets = Meets.PLAIN
    slope: Slope | None = None


@dataclass(frozen=True, slots=True)
class KeepClear:
    """An open stretch (ticks along the wall) where courses ``first`` to ``last`` may have no lap."""

    start: int
    end: int
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class CutOut:
    """What is taken out of the panel for an opening or a block; positions in ticks along the wall.

    ``height`` is where it ends in the panel, above the lip: of a hole its lower edge, whose upper edge is ``top``
    (None: not said).
    """

    start: int
    end: int
    edge: Edge
    height: int
    course: int | None = None
    top: int | None = None


class Keeps(StrEnum):
    """What a ripped panel keeps."""

    LIP = "lip"
    """Its lower edge, or of soffit the edge that hooks into the panel before."""
    HEM = "hem"


@dataclass(frozen=True, slots=True)
class Ripped:
    """A panel ripped lengthwise: what is left of its width, in ticks, at the left and right end of its stretch."""

    left: int
    right: int
    keeps: Keeps
    course: int | None = None


LONGEST_MARK = 40
LONGEST_NAME = 64
"""Characters of what is written on a piece, and of a material's or a wall's name."""
LONGEST_STRETCH = 3_300 * 12 * TICKS_PER_INCH
"""Ticks: no stretch or wall is longer (1 km)."""


@dataclass(frozen=True, slots=True)
class Required:
    """So many alike of one stretch of one material.

    ``length`` is the measured stretch in ticks (the long edge where an end slopes); ``room`` is
    length kept in the stick but not cut. On a wall, ``courses`` stretches lie one above the other
    from ``first_course`` (1 is the one in the starter strip), beginning ``start`` ticks from the
    wall's zero. ``words`` is what the customer wrote of it.
    """

    mark: str
    material: str
    length: int
    quantity: int = 1
    left_end: End = End()
    right_end: End = End()
    room: int = 0
    ref: str | None = None
    wall: str | None = None
    start: int = 0
    first_course: int | None = None
    courses: int = 1
    keep_clear: tuple[KeepClear, ...] = ()
    cut_outs: tuple[CutOut, ...] = ()
    rips: tuple[Ripped, ...] = ()
    words: str = ""

    @property
    def pieces(self) -> int:
        """How many stretches the item stands for."""
        return self.quantity * self.courses

    @property
    def course_numbers(self) -> tuple[int | None, ...]:
        """The course of each stretch of one column, from the lowest; (None,) where the item names no course."""
        if self.first_course is None and self.courses == 1:
            return (None,)
        first = self.first_course or 1
        return tuple(range(first, first + self.courses))

    def part(self, quantity: int, courses: Sequence[int | None]) -> Required:
        """Return so many stretches of each of these of its courses, which lie one above the other."""
        if courses[0] is None:
            return replace(self, quantity=quantity)
        own = {None, *courses}
        return replace(
            self,
            quantity=quantity,
            first_course=courses[0],
            courses=len(courses),
            cut_outs=tuple(cut_out for cut_out in self.cut_outs if cut_out.course in own),
            rips=tuple(rip for rip in self.rips if rip.course in own),
        )

    def rips_in(self, course: int | None) -> tuple[Ripped, ...]:
        """Return how its panels in one course are ripped."""
        return tuple(rip for rip in self.rips if rip.course in (None, course))
