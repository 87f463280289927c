"""What a take-off answers: items to plan, trim, figures with their arithmetic, notices, and an elevation to draw.

All lengths are ticks; positions on a wall are from the wall's zero, as measured.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from solver.job import Notice
from solver.job import Wall as PlannedWall
from solver.materials import Material
from solver.required import CutOut, End, KeepClear, Required
from solver.takeoff.levels import Band
from solver.takeoff.measured import Role, Wall
from solver.takeoff.words import Figure

Corner = tuple[Fraction, Fraction]
"""x and y of a corner of what shows."""


@dataclass(frozen=True, slots=True)
class RunEnd:
    """One end of a run, from the measured line inward along the panel.

    ``takes_up`` goes to the back of the pocket; ``extra`` is what a slope takes beyond the ``gap`` (with its rounding);
    ``gap`` is the expansion gap, which the plan takes off. ``what`` says what it meets.
    """

    what: str
    measured: Fraction
    takes_up: int
    extra: Fraction
    gap: int
    end: End


@dataclass(frozen=True, slots=True)
class NotedCutOut:
    """A cut-out of a course, and what it is for.

    Its heights at both sides are to be checked against each other; ``top`` is the upper edge of a hole, ``depth``
    how far a notch reaches in.
    """

    opening: str
    cut_out: CutOut
    height_left: int
    height_right: int
    top: int | None
    depth: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rip:
    """A panel ripped lengthwise: the height left of it at its left and right end, with its lip or with its hem."""

    left: int
    right: int
    text: str
    keeps_lip: bool


@dataclass(frozen=True, slots=True)
class RunOnWall:
    """One run of one course, pocket back to pocket back; ``face`` is what shows, as trapezoids."""

    start: int
    length: int
    left: RunEnd
    right: RunEnd
    cut_outs: tuple[NotedCutOut, ...]
    rips: tuple[Rip, ...]
    pattern: bool
    area: Fraction
    face: tuple[tuple[Corner, ...], ...]
    text: str

    @property
    def end(self) -> int:
        """The back of its right pocket."""
        return self.start + self.length

    @property
    def cut(self) -> int:
        """The length cut if it were one piece."""
        return self.length - self.left.gap - self.right.gap


@dataclass(frozen=True, slots=True)
class Course:
    """One course of a wall with its runs from the left."""

    band: Band
    runs: tuple[RunOnWall, ...]
    keep_clear: tuple[KeepClear, ...]


@dataclass(frozen=True, slots=True)
class Trim:
    """So many pieces of trim of one length, or of coverage; ``figure`` says how the length came about."""

    role: Role
    place: str
    length: int
    quantity: int
    figure: Figure
    item: int | None = None


@dataclass(frozen=True, slots=True)
class WallTakeOff:
    """One wall taken off, with what is needed to draw its elevation."""

    wall: Wall
    courses: tuple[Course, ...]
    figures: tuple[Figure, ...]
    net_area: Fraction


@dataclass(frozen=True, slots=True)
class TakeOff:
    """The whole take-off: what to plan (``required`` on ``walls`` from ``materials``), and everything to be told."""

    name: str
    materials: tuple[Material, ...]
    required: tuple[Required, ...]
    planned_walls: tuple[PlannedWall, ...]
    walls: tuple[WallTakeOff, ...]
    trim: tuple[Trim, ...]
    figures: tuple[Figure, ...]
    notices: tuple[Notice, ...]
