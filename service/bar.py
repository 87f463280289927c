"""A bar on the terminal while a plan is being made: time spent, the best cost so far, and the bound below it."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Event, Thread

import click

from solver import Progress
from solver.progress import Phase

WIDTH = 24
_REDRAW_SECONDS = 0.1


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
