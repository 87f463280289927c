"""How a material's laps look, and how many of its pieces lie about: counted over a plan that is written out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise

from solver.job import Job, turns_of
from solver.plan import Looks, MaterialPlan, PlacedPiece, Run
from solver.rules import BESIDE_OPENING, LONGEST_STEP, NEAR_LINE, STAIRCASE

Rows = dict[tuple[str, int], list[int]]
"""Where laps lie, by wall and course."""


def looks_of(job: Job, part: MaterialPlan) -> Looks | None:
    """Return what is counted; None where nothing of the material is for a wall."""
    if not any(item.wall for item in job.required if item.material == part.material):
        return None
    rows: Rows = defaultdict(list)
    for run in part.runs:
        if run.wall is not None and run.course is not None:
            rows[run.wall, run.course] += run.laps_at
    within = part.settings.lap_repeat or 0
    put_aside, for_others = pieces_aside(job, (stick.pieces for _, stick in part.sticks()))
    return Looks(
        laps=sum(len(run.laps_at) for run in part.runs),
        near_lines=_near_lines(rows, within),
        staircases=sum(_staircases(rows, place) for place in tuple(rows)),
        beside_openings=sum(_beside(job, run) for run in part.runs),
        put_aside=put_aside,
        for_other_walls=for_others,
    )


def _near_lines(rows: Rows, within: int) -> int:
    return sum(
        abs(lap - below) < NEAR_LINE
        for (wall, course), laps in rows.items()
        for courses in range(1, min(within, course) + 1)
        for below in rows.get((wall, course - courses), ())
        for lap in laps
    )


def _staircases(rows: Rows, place: tuple[str, int]) -> int:
    wall, course = place
    ways: list[tuple[int, ...]] = [(lap,) for lap in rows[place]]
    for above in range(course + 1, course + STAIRCASE):
        ways = [(*way, lap) for way in ways for lap in rows.get((wall, above), ()) if _goes_on(way, lap)]
    return len(ways)


def _goes_on(way: Sequence[int], lap: int) -> bool:
    """Whether a lap continues a staircase."""
    step = lap - way[-1]
    alike = len(way) < 2 or abs(step - (way[-1] - way[-2])) < NEAR_LINE
    return 0 < abs(step) <= LONGEST_STEP and alike and all((b - a > 0) == (step > 0) for a, b in pairwise(way))


def _beside(job: Job, run: Run) -> int:
    """Return how many laps of a run lie close beside an opening that its course passes, or over it."""
    kept = [
        (clear.start - BESIDE_OPENING, clear.end + BESIDE_OPENING)
        for clear in job.required[run.item].keep_clear
        if run.course is None or clear.first <= run.course <= clear.last
    ]
    spans = ((min(place, place + run.lap), max(place, place + run.lap)) for place in run.laps_at)
    return sum(any(low < end and start < high for start, end in kept) for low, high in spans)


def pieces_aside(job: Job, sticks: Iterable[Sequence[PlacedPiece]]) -> tuple[int, int]:
    """Return the most pieces that lie cut and not yet hung, and how many are cut on one wall and hung on another."""
    turns = turns_of(job)
    changes: dict[int, int] = defaultdict(int)
    for_others = 0
    for pieces in sticks:
        first, *later = sorted((turns[piece.item, piece.course], piece.item) for piece in pieces)
        for turn, item in later:
            changes[first[0]] += 1
            changes[turn] -= 1
            for_others += job.required[item].wall != job.required[first[1]].wall
    waiting = most = 0
    for _, change in sorted(changes.items()):
        waiting += change
        most = max(most, waiting)
    return most, for_others
