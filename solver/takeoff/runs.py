"""The runs of each course: what is open in its band, from pocket back to pocket back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.lengths import Unit
from solver.required import KeepClear, Side
from solver.takeoff.answer import Corner, Course, RunEnd, RunOnWall
from solver.takeoff.bands import Block, Shape, shapes_in
from solver.takeoff.cutouts import cut_outs, stretch_of
from solver.takeoff.ends import Allow, run_end
from solver.takeoff.levels import Band
from solver.takeoff.measured import Opening
from solver.takeoff.outline import Edge
from solver.takeoff.rips import rips_of
from solver.takeoff.words import Term, add_up


def course_in(band: Band, edges: Sequence[Edge], blocks: Sequence[Block], allow: Allow) -> Course:
    """Return one course with its runs; shapes too short for a panel are only counted."""
    near = [block for block in blocks if block.bottom <= band.top and band.bottom <= block.top]
    shapes = shapes_in(edges, near, band.bottom, band.top)
    covered = [_run(shape, band, near, allow) for shape in shapes]
    runs = tuple(run for run in covered if run.cut > 0)
    return Course(band, runs, tuple(keep_clears(band, blocks, allow)), len(covered) - len(runs))


def _run(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> RunOnWall:
    left, right = run_end(shape, Side.LEFT, allow), run_end(shape, Side.RIGHT, allow)
    start, end = int(left.measured + left.takes_up + left.extra), int(right.measured - right.takes_up - right.extra)
    text = _arithmetic(left, right, allow.unit)
    return RunOnWall(
        start,
        end - start,
        left,
        right,
        tuple(cut_outs(shape, band, (start, end), blocks, allow)),
        rips_of(shape, band, blocks, allow),
        any(slab.sloping for slab in shape.slabs),
        shape.area,
        _face(shape),
        text,
    )


def _face(shape: Shape) -> tuple[tuple[Corner, ...], ...]:
    return tuple(
        (
            (slab.left.low, slab.bottom),
            (slab.right.low, slab.bottom),
            (slab.right.high, slab.top),
            (slab.left.high, slab.top),
        )
        for slab in shape.slabs
    )


def _arithmetic(left: RunEnd, right: RunEnd, unit: Unit) -> str:
    terms = [Term(round(right.measured - left.measured), f"from {left.what} to {right.what}")]
    for side, end in (("left", left), ("right", right)):
        terms.append(Term(-end.takes_up, f"taken up at the {side}"))
        terms.append(Term(-round(end.extra), f"more than the end gap along the slope at the {side}"))
    return add_up("clear length", terms, unit).text


def keep_clears(band: Band, blocks: Sequence[Block], allow: Allow) -> Iterator[KeepClear]:
    """Yield where this course may have no lap: under and over openings, as many courses as the settings say.

    A stretch is as wide as the opening's cut-out.
    """
    reach = allow.settings.keep_clear * (band.top - band.bottom)
    for block in blocks:
        under = band.bottom < block.bottom <= band.bottom + reach
        over = band.top - reach <= block.top < band.top
        if isinstance(block.cause, Opening) and (under or over):
            yield KeepClear(*stretch_of(block, allow.settings.cut_out_clearance), band.number, band.number)
