"""A plan on a terminal: the order and the cut sheet as plain text, and a bar while the plan is being made."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Event, Thread

import click

from service.views.facts import bought, left_over, marks, material_of, no_total, packed, quality, to_cut, why_nothing
from service.wire.numbers import money
from solver import Progress
from solver.job import Job
from solver.lengths import say
from solver.plan import CutPlan, MaterialPlan, OrderLine, PatternUse, Run
from solver.progress import Phase

WIDTH = 24
"""Characters of the bar."""
_REDRAW_SECONDS = 0.1


def sheet(job: Job, plan: CutPlan) -> str:
    """Return what to order, how to cut it, and what the reader must know."""
    parts = [[job.name] if job.name else [], list(_order(job, plan))]
    parts += [list(_cuts(job, plan, part)) for part in plan.materials if part.patterns]
    parts += [list(_hung(job, part)) for part in plan.materials if part.runs]
    parts += [list(_not_cut(job, plan)), [f"Note: {notice.detail}" for notice in plan.warnings], list(plan.cautions)]
    return "\n\n".join("\n".join(part) for part in parts if part)


def _order(job: Job, plan: CutPlan) -> Iterator[str]:
    yield "TO ORDER"
    rows = [_order_row(job, line) for line in plan.order] or [[f"nothing: {why_nothing(plan)}"]]
    if plan.order and plan.order_total is not None:
        rows.append(["", "", "", "", f"total {money(plan.order_total)}"])
    yield from columns(rows)
    if why := no_total(plan.order):
        yield f"  {why}"


def _order_row(job: Job, line: OrderLine) -> list[str]:
    code = f" ({line.code})" if line.code else ""
    length, amount = say(line.length, job.units), money(line.amount) or ""
    return [line.material + code, length, bought(job, line), packed(line), amount]


def _cuts(job: Job, plan: CutPlan, part: MaterialPlan) -> Iterator[str]:
    what = to_cut(material_of(job, part.material), part)
    yield f"TO CUT: {part.material}, {what}; {left_over(job, part)}"
    yield from columns([_cut_row(job, use) for use in part.patterns])
    yield f"  {quality(job, plan, part)}"


def _cut_row(job: Job, use: PatternUse) -> list[str]:
    first, last = use.sticks[0].stick, use.sticks[-1].stick
    names = first if use.count == 1 else f"{first} to {last}"
    source = say(use.stock_length, job.units) + ("" if use.stock else " on hand")
    cuts = [f"{say(cut.length, job.units)} ({mark})" for cut, mark in zip(use.cuts, marks(use), strict=True)]
    left = use.left_over
    rest = f"{'keep' if left.keep else 'scrap'} {say(left.length, job.units)}" if left.length else "no offcut"
    return [names, f"{use.count} x {source}", "  ".join(cuts), rest]


def _hung(job: Job, plan: MaterialPlan) -> Iterator[str]:
    """Yield each course from the left: the pieces with their sticks, and where the laps fall along the wall."""
    yield f"TO HANG: {plan.material}, each course from the left"
    yield from columns([_course(job, run) for run in plan.runs])


def _course(job: Job, run: Run) -> list[str]:
    where = f"{run.wall or run.mark}, course {run.course}" if run.course else run.wall or run.mark
    pieces = "  ".join(f"{say(piece.length, job.units)} ({piece.stick})" for piece in run.pieces)
    laps = ", ".join(say(place, job.units) for place in run.laps_at)
    return [where, run.mark, pieces, f"laps at {laps}" if laps else ""]


def _not_cut(job: Job, plan: CutPlan) -> Iterator[str]:
    if plan.not_cut:
        yield "NOT CUT"
    for entry in plan.not_cut:
        pieces, length = "piece" + "s" * (entry.quantity > 1), say(job.required[entry.item].length, job.units)
        yield f"  mark {entry.mark}: {entry.quantity} {pieces} of {length}: {entry.detail}"


def columns(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Yield rows as lines, each column as wide as its widest cell."""
    count = max((len(row) for row in rows), default=0)
    widths = [max(len(row[i]) for row in rows if i < len(row)) for i in range(count)]
    for row in rows:
        yield ("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=False))).rstrip()


@contextmanager
def bar(seconds: float) -> Iterator[Callable[[Progress], None]]:
    """Yield a listener for progress; draws only where standard error is a terminal."""
    latest: list[Progress] = []
    over = Event()
    thread = Thread(target=_draw, args=(seconds, latest, over), daemon=True)
    if sys.stderr.isatty():
        thread.start()
    try:
        yield latest.append
    finally:
        over.set()
        if thread.is_alive():
            thread.join()


def line(share: float, progress: Progress | None) -> str:
    """Return the bar as text: ``share`` of the time is spent."""
    full = round(WIDTH * min(1.0, share))
    return f"[{'#' * full}{'.' * (WIDTH - full)}] {_words(progress)}"


def _words(progress: Progress | None) -> str:
    if progress is None:
        return "looking for a first plan"
    if progress.phase is Phase.TIDYING:
        return f"costs {progress.cost:f}; looking for the tidiest way to cut it"
    return f"best so far {progress.cost:f}, proven minimum {progress.bound:f}"


def _draw(seconds: float, latest: list[Progress], over: Event) -> None:
    began = time.monotonic()
    while not over.wait(_REDRAW_SECONDS):
        text = line((time.monotonic() - began) / seconds, latest[-1] if latest else None)
        click.echo(f"\r\x1b[K{text}", nl=False, err=True)
    click.echo("\r\x1b[K", nl=False, err=True)
