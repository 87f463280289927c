"""Planning without a server: a request from a file, planned in this process, told on the terminal."""

from __future__ import annotations

import json
import signal
import sys
import time
from codecs import BOM_UTF8
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from threading import Event
from typing import Any

import click

import solver
from service.cli.pasted import Beside, job_of_list, read_as, read_list
from service.cli.printing import bar, columns, sheet
from service.problems import Problem
from service.strict_json import parse, require_object
from service.wire import read_job
from service.wire.cut_plan import render
from service.wire.taken_off import cut_plan_request
from service.wire.takeoff import read_take_off
from solver.errors import PlanRefused, Unplannable
from solver.job import Job
from solver.plan import CutPlan
from workers.record import Record, State

BAD_INPUT = 2
FAILURE = 1


def is_json(data: bytes) -> bool:
    """Whether this is meant to be a JSON request, and not a pasted list."""
    return data.removeprefix(BOM_UTF8).lstrip()[:1] in (b"{", b"[")


def read_request(data: bytes, beside: Beside) -> Job:
    """Return the job of a JSON request, of measurements or of a pasted list; otherwise say what is wrong and exit.

    What was read from each line of a list goes to standard error, so that a misreading is seen.
    """
    try:
        if is_json(data):
            return _job_of(require_object(parse(data.removeprefix(BOM_UTF8))))
        read = read_list(data.decode("utf-8-sig", errors="replace"), beside)
        if rows := read_as(read):
            click.echo("\n".join(["READ", *columns(rows), ""]), err=True)
        return job_of_list(read, beside)
    except Problem as problem:
        click.echo(told(problem), err=True)
        sys.exit(BAD_INPUT)


def _job_of(body: Mapping[str, Any]) -> Job:
    """Return the job of a request, or of measurements, of which what to know goes to standard error."""
    if "uses" not in body:
        return read_job(body)
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


def told(problem: Problem) -> str:
    """Return a problem as lines for a person."""
    return "\n".join([problem.detail, *(f"  {error.pointer}: {error.detail}" for error in problem.errors)])


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
