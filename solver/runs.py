"""Runs in a plan: their pieces and laps, how they look, and the rules that a plan may have to break.

Broken rules are declared by their codes.

A breach is a ``Notice`` in ``CutPlan.warnings`` with code, material, wall, course, place, needed and got; one for
each rule broken each time, however many fall on the same place. A lap's place x is the left end of its
right-hand piece, and the lap is [x, x + lap] ([x + lap, x] where a negative lap leaves a gap). Only laps within
runs count. Rules between courses hold between runs of one material on one named wall, in courses that
have a number; a breach of two courses is declared in the higher one, at that course's lap.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from solver.categories import Settings
from solver.required import CutOut, Side
from solver.ticks import TICKS_PER_INCH


class BreachCode(StrEnum):
    """Which rule a plan had to break."""

    LAP_SPACING = "lap_spacing"
    """A lap in the next course is nearer than ``lap_spacing``; needed is that, got the distance of the two places."""

    LAP_IN_LINE = "lap_in_line"
    """A lap ``lap_repeat`` courses below or fewer, the next one too, is nearer than ``in_line_within``; as above."""

    LAP_OVER_OPENING = "lap_over_opening"
    """A lap reaches into an open stretch of this course (touching it is none); once a lap. Needed is the nearest place
    where it reaches into none, the lower of two, and got is its own."""

    SHORT_PIECE = "short_piece"
    """A piece of a lapped run is shorter than ``shortest_piece``; place is its left end, needed that, got its own."""

    FIELD_END_LAPPED = "field_end_lapped"
    """A lapped end is a field end where ``lap_ends`` is factory; once an end, at its lap (x where the run's left end
    laps, x of the next panel where its right end does). Needed is the piece's length, for a stick just so long has a
    factory end there, and got the length of its stick."""


NEAR_LINE = 6 * TICKS_PER_INCH
"""Two laps nearer than this, in courses ``lap_repeat`` or fewer apart, look in line to the eye: a near-line. Common
practice, no source."""

LONGEST_STEP = 60 * TICKS_PER_INCH
"""Laps of four successive courses that step the same way make a staircase: by no more than this a step, and by steps
that differ by less than ``NEAR_LINE``. That stairs are avoided is common practice; the figure has no source."""

BESIDE_OPENING = 12 * TICKS_PER_INCH
"""A lap in a course that passes over or under an opening keeps so far from its sides where it can. Common practice, no
source."""

STAIRCASE = 4
"""So many successive courses make a staircase.

Pieces are hung wall by wall as the request lists them, each wall course by course from the lowest and each course from
the left; what is for no wall comes last, item by item. A stick is cut when its first piece is hung, and the others are
put aside until the stretch of a course that they are for."""


@dataclass(frozen=True, slots=True)
class RunPiece:
    """One piece of a run: its length, its stick, and which cut of that stick it is (from 1)."""

    length: int
    stick: str
    cut: int


@dataclass(frozen=True, slots=True)
class PieceCutOut:
    """A cut-out given back from the ends of the piece that carries it; ``piece`` counts from 1 in the run."""

    piece: int
    from_left: int
    from_right: int
    cut_out: CutOut


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One course of one item, covered by ``pieces`` from left to right, lapped at ``laps_at`` along the wall.

    ``lap`` and ``end_gap`` are those it was cut by, the largest that its sticks ask for, and ``starts_at`` is where
    the left end of its first piece lies, all in ticks. ``on_top`` says for each lap which of its two panels lies on
    top; the other goes on first.
    """

    item: int
    mark: str
    wall: str | None
    course: int | None
    lap: int
    end_gap: int
    starts_at: int
    pieces: tuple[RunPiece, ...]
    laps_at: tuple[int, ...]
    on_top: tuple[Side, ...]
    cut_outs: tuple[PieceCutOut, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """What is counted of how a material's laps look and how its pieces lie about, by the meanings in ``solver.runs``.

    ``put_aside`` is the most pieces that lie cut and not yet hung at any time, ``for_other_walls`` how many pieces are
    cut on one wall and hung on a later one.
    """

    laps: int
    near_lines: int
    staircases: int
    beside_openings: int
    put_aside: int
    for_other_walls: int


def lap_cost_of(settings: Settings, runs: Iterable[Run]) -> Decimal:
    """Return what the laps of runs count, in money: the builder's own reckoning, and no part of any bill."""
    return settings.lap_price * sum(len(run.laps_at) for run in runs)
