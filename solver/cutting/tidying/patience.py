"""Coming back in time: long loops ask the watch now and then, and give up together."""

from __future__ import annotations

from solver.watch import Watch


class OutOfTime(Exception):
    """The watch has stopped; what was found before stands."""


def go_on(watch: Watch) -> None:
    """Raise ``OutOfTime`` once ``watch`` has stopped."""
    if watch.stopped:
        raise OutOfTime
