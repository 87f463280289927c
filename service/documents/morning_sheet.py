"""What a crew takes along in the morning: what to load and bring, each job's pieces, how to cut, what to keep."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby

from service.documents.blocks import BOX, Block, Column, Heading, Page, Paper, Paragraph, Sheet, Table
from service.documents.cutting_page import boxes, cutting_pages
from service.documents.hanging_page import hanging_pages
from service.documents.title_block import long_date, midnight
from service.drawing.lettering import Tags, clean
from service.views.facts import called, counted, factory_end, material_of
from solver.job import Job
from solver.lengths import say
from solver.materials import Offcut
from solver.plan import OrderLine, PlacedPiece
from solver.weekly.plan import DayPlan, KeptOffcut
from solver.weekly.week import Week

WRITE = "Write the label on every offcut right away: without one it can't be found on its day."
_PULL = (Column("", 6), Column("How many", 16), Column("Material", 50), Column("Length", 28))
_BRING = (Column("", 6), Column("Label", 22), Column("Material", 32), Column("Length", 18), Column("Factory end", 22))
_KEEP = (
    Column("", 5), Column("Write on it", 19), Column("Length", 15), Column("Material", 21), Column("From", 10),
    Column("Factory end", 14), Column("What for", 16),
)  # fmt: skip
_BY_JOB = (
    Column("", 20), Column("Piece", 14), Column("How many", 10), Column("Cut length", 16), Column("Material", 18),
    Column("From", 22),
)  # fmt: skip
Made = tuple[PlacedPiece, int, str]
"""A piece with its length and the stick it comes from."""


def morning_sheet(week: Week, day: DayPlan, paper: Paper) -> Sheet:
    """Return one day's sheet: what to load and bring, each job's pieces, how every stick is cut, what to keep."""
    title = f"{clean(week.crew)}: {long_date(day.date)}"
    labels = {kept.stick: clean(kept.label) for kept in day.kept}
    pages = (
        _load(week, day),
        *_by_job(week, day),
        *cutting_pages(day.job, day.plan, labels),
        *hanging_pages(day.job, day.plan),
    )
    return Sheet(title, pages, title, midnight(day.date), paper)


def jobs_of(week: Week, day: DayPlan) -> str:
    """Return the names of a day's jobs."""
    names = {job.id: job.name or job.id for job in week.jobs}
    return "; ".join(clean(names.get(job, job)) for job in dict.fromkeys(origin.job for origin in day.origins))


def pull_row(job: Job, line: OrderLine) -> tuple[str, ...]:
    """Return one row of whole sticks: a box, how many, of what, how long."""
    material = material_of(job, line.material)
    return BOX, counted(material, line.sticks), called(material), say(line.length, job.units)


def offcut_row(job: Job, offcut: Offcut) -> tuple[str, ...]:
    """Return one row of offcuts: a box, the label, of what, how long, its factory end."""
    return BOX, clean(offcut.id), clean(offcut.material), say(offcut.length, job.units), factory_end(offcut.factory_end)


def in_order(label: str) -> list[tuple[int, str]]:
    """Return what labels are sorted by, so that MO10 comes after MO9."""
    return [(int(part or 0), part) if part.isdigit() else (0, part) for part in re.split(r"([0-9]+)", label)]


def _load(week: Week, day: DayPlan) -> Page:
    blocks: list[Block] = [Paragraph(f"{clean(week.crew)}: {jobs_of(week, day)}", strong=True)]
    rows = tuple(pull_row(day.job, line) for line in day.plan.order)
    blocks.append(Heading("Whole sticks to load"))
    blocks.append(Table(_PULL, rows) if rows else Paragraph("None: offcuts are enough today."))
    if day.job.offcuts:
        offcuts = sorted(day.job.offcuts, key=lambda offcut: in_order(offcut.id))
        bring = tuple(row for offcut in offcuts for row in [offcut_row(day.job, offcut)] * offcut.quantity)
        blocks += [Heading("Offcuts to bring"), Table(_BRING, bring)]
    if day.kept:
        blocks += [Heading("Offcuts to keep tonight"), Paragraph(WRITE, strong=True), Table(_KEEP, tuple(_keep(day)))]
    for entry in day.plan.not_cut:
        blocks.append(Paragraph(f"! {entry.quantity} of {clean(entry.mark)}: {clean(entry.detail)}", strong=True))
    return Page(f"To load: {long_date(day.date)}", tuple(blocks))


def _keep(day: DayPlan) -> Iterator[tuple[str, ...]]:
    def order(kept: KeptOffcut) -> tuple[bool, date, list[tuple[int, str]]]:
        return kept.wanted is None, kept.wanted or day.date, in_order(kept.label)

    for kept in sorted(day.kept, key=order):
        what_for = f"for {kept.wanted:%A}" if kept.wanted else "to the rack"
        length = say(kept.length, day.job.units)
        yield BOX, clean(kept.label), length, clean(kept.material), kept.stick, factory_end(kept.factory_end), what_for


def _by_job(week: Week, day: DayPlan) -> Iterator[Page]:
    """Yield a page for each job where the day has several: its pieces, and the sticks they come from."""
    jobs = list(dict.fromkeys(origin.job for origin in day.origins))
    names = {job.id: job.name for job in week.jobs}
    for job in jobs if len(jobs) > 1 else ():
        title = f"{names[job]} ({job})" if names.get(job) else job
        yield Page(f"Pieces for {clean(title)}", (Table(_BY_JOB, tuple(_pieces(day, job))),))


def _pieces(day: DayPlan, job: str) -> Iterator[tuple[str, ...]]:
    """Yield a row for pieces alike, in the order in which the job lists them."""
    for part in day.plan.materials:
        tags, alike = Tags.of(part), defaultdict[tuple[int, int, int, str, int], list[str]](list)
        for use, stick in part.sticks():
            for piece, cut in zip(stick.pieces, use.cuts, strict=True):
                if day.origins[piece.item].job == job:
                    place = (piece.course or 0, piece.piece) if piece.item in tags.runs else (0, 0)
                    source = f"{stick.stick} ({clean(stick.offcut_id)})" if stick.offcut_id else stick.stick
                    alike[piece.item, *place, tags.tag(piece), cut.length].append(source)
        for (*_, tag, length), sticks in sorted(alike.items()):
            count = len(sticks)
            yield boxes(count), tag, str(count), say(length, day.job.units), clean(part.material), _ranges(sticks)


def _ranges(sticks: Iterable[str]) -> str:
    """Return sticks as one says them, ``S3, S5 to S9``; those of offcuts by themselves, with their labels."""
    every = sorted(dict.fromkeys(sticks), key=in_order)

    def row(place: int) -> int:
        name = every[place]
        return int(name[1:]) - place if name[1:].isdigit() else -place - 1

    groups = [[every[place] for place in group] for _, group in groupby(range(len(every)), key=row)]
    return ", ".join(group[0] if len(group) == 1 else f"{group[0]} to {group[-1]}" for group in groups)
