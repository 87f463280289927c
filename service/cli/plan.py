"""Planning without a server: a request from a file, planned in this process, told on the terminal."""

from __future__ import annotations

import json
import signal
import sys
import time
from codecs import BOM_UTF8
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from threading import Event, Thread
from typing import Any

import click

import solver
from service.cli.shared import BAD_INPUT, FAILURE, Beside, told
from service.drawing.lettering import clean
from service.http.problems import Problem
from service.http.strict_json import parse, require_object
from service.views.facts import (
    besides,
    bought,
    laps,
    left_over,
    marks,
    material_of,
    no_total,
    packed,
    quality,
    reckoned,
    to_cut,
    totals_of,
    why_nothing,
)  # fmt: skip
from service.wire import read_job
from service.wire.numbers import money
from service.wire.plans.cut_plan import render
from solver import Progress
from solver.errors import PlanRefused, Unplannable
from solver.job import Job
from solver.lengths import say
from solver.plan import CutPlan, MaterialPlan, OrderLine, PatternUse
from solver.progress import Phase
from solver.runs import Run
from workers.orders.company import NOBODY
from workers.plans.record import Record, State

WIDTH = 24
"""Characters of the bar."""
_REDRAW_SECONDS = 0.1


def is_json(data: bytes) -> bool:
    """Whether this is meant to be a JSON request, and not a pasted list."""
    return data.removeprefix(BOM_UTF8).lstrip()[:1] in (b"{", b"[")


def read_request(data: bytes, beside: Beside | None = None, name: str = "") -> Job:
    """Return the job of a JSON request, of measurements or of a list; otherwise say what is wrong and exit.

    ``beside`` is what a list does not say, None where none is taken; ``name`` is the file's: a list may be a workbook.

    What was read from each line of a list goes to standard error, so that a misreading is seen.
    """
    try:
        if beside is None or is_json(data):
            return _job_of(require_object(parse(data.removeprefix(BOM_UTF8))))
        return _job_listed(data, beside, name)
    except Problem as problem:
        click.echo(told(problem), err=True)
        sys.exit(BAD_INPUT)


def _job_listed(data: bytes, beside: Beside, name: str) -> Job:
    from service.cli import pasted  # noqa: PLC0415 - as long to load as a list to plan

    read = pasted.read_list(pasted.list_in(data, name), beside)
    if rows := pasted.read_as(read):
        click.echo("\n".join(["READ", *columns(rows), ""]), err=True)
    return pasted.job_of_list(read, beside)


def _job_of(body: Mapping[str, Any]) -> Job:
    """Return the job of a request, or of measurements, of which what to know goes to standard error."""
    if "uses" not in body:
        return read_job(body)
    from service.wire.takeoffs.taken_off import cut_plan_request  # noqa: PLC0415 - as long to load as a list to plan
    from service.wire.takeoffs.takeoff import read_take_off  # noqa: PLC0415

    found = read_take_off(body)
    if found.notices:
        click.echo("\n".join(["MEASURED", *(f"  {notice.detail}" for notice in found.notices), ""]), err=True)
    return read_job(cut_plan_request(found, body))


def plan_here(job: Job, *, as_json: bool) -> int:
    """Plan the job, print the answer, and return the exit code. Ctrl-C ends it with the best plan so far."""
    began = datetime.now(UTC)
    with _interruptible() as interrupted, bar(job.seconds) as tell:
        try:
            plan = solver.plan_job(job, time.monotonic, interrupted.is_set, tell)
        except Unplannable as error:
            click.echo(str(error), err=True)
            return BAD_INPUT
        except PlanRefused as error:
            click.echo(f"the independent check refused the plan: {error}", err=True)
            return FAILURE
    click.echo(_as_json(job, plan, began) if as_json else sheet(job, plan))
    return 0


def _as_json(job: Job, plan: CutPlan, began: datetime) -> str:
    ended = datetime.now(UTC)
    spent = round((ended - began).total_seconds() * 1000)
    record = Record(
        id="here", client="", state=State.SUCCEEDED, queue="", version=1, generation=1, deaths=0, created_at=began,
        started_at=began, finished_at=ended, expires_at=None, solve_ms=spent, cost=None, bound=None,
        cancel_asked=False, has_plan=True, failure=None,
    )  # fmt: skip
    return json.dumps(render(record, job, plan, all_sticks=True), indent=2, ensure_ascii=False)


@contextmanager
def _interruptible() -> Iterator[Event]:
    """Yield an event that the first Ctrl-C sets; a second one ends the program."""
    interrupted = Event()

    def stop(*_: object) -> None:
        interrupted.set()
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield interrupted
    finally:
        signal.signal(signal.SIGINT, before)


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
    rows += [["", "", "", "", f"{name.lower()} {amount}"] for name, amount in totals_of(plan, NOBODY)]
    yield from columns(rows)
    if why := no_total(plan.order):
        yield f"  {why}"
    if goods := [list(row) for row in besides(job)]:
        yield "BESIDES"
        yield from columns(goods)


def _order_row(job: Job, line: OrderLine) -> list[str]:
    code = f" ({line.code})" if line.code else ""
    length, amount = say(line.length, job.units), money(line.amount) or ""
    whose = f" from {clean(line.supplier)}" if line.supplier else ""
    return [line.material + code + whose, length, bought(job, line), packed(line), amount]


def _cuts(job: Job, plan: CutPlan, part: MaterialPlan) -> Iterator[str]:
    what = to_cut(material_of(job, part.material), part)
    yield f"TO CUT: {part.material}, {what}; {left_over(job, part)}"
    yield from columns([_cut_row(job, use) for use in part.patterns])
    yield f"  {quality(job, plan, part)}"
    yield from (f"  {said}" for said in (laps(job, plan, part), reckoned(part)) if said)


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
