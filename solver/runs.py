"""The runs of a plan as they hang: which stick each piece comes from, where it is lapped, and its cut-outs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from solver.allowances import Allowances
from solver.demand import Demand
from solver.filling import Filled
from solver.laps.problem import Cover, LapRun
from solver.plan import PatternUse, PieceCutOut, Run, RunPiece
from solver.required import CutOut

Where = dict[tuple[int, int | None, int], RunPiece]
"""Where each piece of an item is cut, by item, course and piece number."""


def runs_of(demand: Demand, filled: Filled, patterns: Iterable[PatternUse]) -> tuple[Run, ...]:
    """Return the material's runs in the order of the request, courses from the lowest."""
    where = _where(patterns)
    covers = sorted(filled.covers, key=lambda cover: cover.run)
    taken: dict[tuple[int, int | None], int] = defaultdict(int)
    return tuple(_run(demand, filled.runs[cover.run], cover, where, taken) for cover in covers)


def _run(demand: Demand, run: LapRun, cover: Cover, where: Where, taken: dict[tuple[int, int | None], int]) -> Run:
    first = taken[run.item, run.course] + 1
    taken[run.item, run.course] += len(cover.kinds)
    numbers = range(first, first + len(cover.kinds))
    pieces = tuple(where[run.item, run.course, number] for number in numbers)
    required = demand.job.required[run.item]
    cut_outs = [c for c in required.cut_outs if c.course in (None, run.course)]
    starts_at = Allowances(cover.lap, cover.end_gap).starts_at(run.start, run.left)
    return Run(
        item=run.item,
        mark=required.mark,
        wall=run.wall,
        course=run.course,
        lap=cover.lap,
        end_gap=cover.end_gap,
        starts_at=starts_at,
        pieces=pieces,
        laps_at=cover.laps_at,
        on_top=cover.on_top,
        cut_outs=tuple(_given_back(cut_outs, pieces, (starts_at, *cover.laps_at))),
    )


def _where(patterns: Iterable[PatternUse]) -> Where:
    return {
        (piece.item, piece.course, piece.piece): RunPiece(cut.length, stick.stick, place)
        for use in patterns
        for stick in use.sticks
        for place, (piece, cut) in enumerate(zip(stick.pieces, use.cuts, strict=True), 1)
    }


def _given_back(
    cut_outs: Iterable[CutOut], pieces: Sequence[RunPiece], left_ends: Sequence[int]
) -> Iterator[PieceCutOut]:
    """Yield each cut-out once for every piece that reaches into it, measured from the piece's own ends, 0 beyond."""
    for cut_out in cut_outs:
        for number, (piece, left) in enumerate(zip(pieces, left_ends, strict=True), 1):
            if left < cut_out.end and cut_out.start < left + piece.length:
                from_left, from_right = cut_out.start - left, left + piece.length - cut_out.end
                yield PieceCutOut(number, max(0, from_left), max(0, from_right), cut_out)
