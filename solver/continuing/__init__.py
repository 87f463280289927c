"""A plan gone on with: what was cut stays as it is, and the rest becomes a job of its own.

What of the sticks is at hand for it is in ``at_hand``. Nobody plans here: the job is planned like any other, so what
must still be bought is its order.

A wall of which something hangs keeps all its laps as they were planned, for the rules between courses hold only so:
each piece of its runs that is not done is asked for by itself, at its length and with the factory ends it was to have.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import groupby

from solver.allowances import of_pieces
from solver.categories import LapEnds
from solver.continuing.at_hand import offcuts_left, rows_left
from solver.continuing.report import Place, Report
from solver.job import Job
from solver.materials import Material
from solver.plan import CutEnd, CutPlan, MaterialPlan
from solver.required import End, Meets, Required
from solver.runs import Run, RunPiece

__all__ = ["Report", "rest_of"]


def rest_of(job: Job, plan: CutPlan, report: Report, name: str) -> Job:
    """Return the job of what is still to be cut, from what is left; what is left of a stick is called after ``name``.

    What lay on the rack is not in it: it is looked up anew. What the job needs besides was ordered with the plan.
    """
    materials = tuple(replace(each, stock=tuple(rows_left(each, plan))) for each in job.materials)
    rest = replace(job, materials=materials, goods=())
    required, offcuts = still_wanted(rest, plan, report), offcuts_left(job, plan, report, name)
    return replace(rest, required=tuple(required), offcuts=tuple(offcuts))


Course = tuple[int, int | None]
"""An item, by its place in the job, and one of its courses."""


def still_wanted(job: Job, plan: CutPlan, report: Report) -> Iterator[Required]:
    """Yield what is still wanted, item by item in the order of the job.

    What could not be cut the first time is wanted still.
    """
    whole: Counter[Course] = Counter()
    single: dict[int, list[Required]] = {}
    materials = {material.id: material for material in job.materials}
    for part in plan.materials:
        material = materials[part.material]
        elsewhere = report.cut | {_place(piece) for run in part.runs for piece in run.pieces}
        for _, stick in part.sticks():
            for cut, piece in enumerate(stick.pieces, 1):
                if (stick.stick, cut) not in elsewhere:
                    whole[piece.item, piece.course] += 1
        for run in part.runs:
            if _laid_anew(run, part.runs, report):
                whole[run.item, run.course] += 1
            else:
                single.setdefault(run.item, []).extend(_pieces(job.required[run.item], material, part, run, report))
    for entry in plan.not_cut:
        for course, count in _not_cut(job.required[entry.item], entry.quantity):
            whole[entry.item, course] += count
    for item, required in enumerate(job.required):
        yield from _stretches(required, {course: whole[item, course] for course in required.course_numbers})
        yield from single.get(item, ())


def _not_cut(required: Required, count: int) -> Iterator[tuple[int | None, int]]:
    """Yield to which courses pieces that could not be cut belong, from the uppermost: nobody said which they are."""
    for course in reversed(required.course_numbers):
        own = min(count, required.quantity)
        count -= own
        if own:
            yield course, own


def _laid_anew(run: Run, runs: Iterable[Run], report: Report) -> bool:
    """Whether nothing is done of a run, nor of any other on its wall."""
    beside = [other for other in runs if run.wall is not None and other.wall == run.wall] or [run]
    return not any(_done(other, report) for other in beside)


def _done(run: Run, report: Report) -> bool:
    return any((piece.stick, piece.cut) in report.cut for piece in run.pieces)


def _stretches(required: Required, counts: dict[int | None, int]) -> Iterator[Required]:
    """Yield an item for so many stretches of each course, courses alike one above the other together."""
    for count, group in groupby(counts.items(), key=lambda entry: entry[1]):
        if count:
            yield required.part(count, [course for course, _ in group])


def _pieces(required: Required, material: Material, part: MaterialPlan, run: Run, report: Report) -> Iterator[Required]:
    """Yield each piece of a run that is not done, as an item of its own."""
    cuts = {(stick.stick, n): cut for use, stick in part.sticks() for n, cut in enumerate(use.cuts, 1)}
    allowances, last = of_pieces(material), len(run.pieces) - 1
    for number, (piece, left) in enumerate(zip(run.pieces, (run.starts_at, *run.laps_at), strict=True)):
        if (piece.stick, piece.cut) in report.cut:
            continue
        cut = cuts[_place(piece)]
        left_end = required.left_end if number == 0 else _lapped(cut.left, material)
        right_end = required.right_end if number == last else _lapped(cut.right, material)
        ends = allowances.at(left_end.meets) + allowances.at(right_end.meets)
        yield replace(
            required,
            length=cut.length - ends,
            quantity=1,
            left_end=left_end,
            right_end=right_end,
            start=left + allowances.at(left_end.meets),
            first_course=run.course,
            courses=1,
            keep_clear=(),
            cut_outs=tuple(
                cut_out
                for cut_out in required.cut_outs
                if cut_out.course in (None, run.course) and cut_out.start < left + cut.length and left < cut_out.end
            ),
            rips=required.rips_in(run.course),
        )


def _place(piece: RunPiece) -> Place:
    return piece.stick, piece.cut


def _lapped(made: CutEnd, material: Material) -> End:
    """Return the end of a piece that another laps; one that was to be a field end needs no factory end now either."""
    needs_none = made is CutEnd.FIELD and material.settings.lap_ends is LapEnds.FACTORY
    return End(Meets.PLAIN if needs_none else Meets.LAP)
