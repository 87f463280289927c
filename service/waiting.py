"""Holding an answer for a caller who prefers to wait, as far as there are threads to spare."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from service.state import service

T = TypeVar("T")
_FIRST_PAUSE = 0.004
_LONGEST_PAUSE = 0.1


@dataclass(frozen=True, slots=True)
class Waited(Generic[T]):
    """What was seen last, and for how many seconds the answer might be held: None where it was not to be held."""

    value: T
    seconds: float | None


def wait(value: T, look: Callable[[], T], over: Callable[[T], bool], seconds: float) -> Waited[T]:
    """Look again and again until it is ``over`` or the time is; others may be waiting already, then not at all."""
    granted = min(seconds, service().config.longest_wait)
    if over(value) or not granted:
        return Waited(value, granted)
    if not service().waiters.acquire(blocking=False):
        return Waited(value, None)
    try:
        until, pause = time.monotonic() + granted, _FIRST_PAUSE
        while not over(value) and time.monotonic() < until:
            if service().stopping.wait(pause):
                break
            pause = min(_LONGEST_PAUSE, pause * 1.2)
            value = look()
    finally:
        service().waiters.release()
    return Waited(value, granted)
