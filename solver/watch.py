"""When to stop, and whom to tell how far things are: the only clock the solver ever sees."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace


def never() -> bool:
    """Return False: nobody cancels."""
    return False


def _tell_nobody(cost: int, bound: int) -> None:
    del cost, bound


@dataclass(frozen=True, slots=True)
class Watch:
    """A deadline on a clock (seconds, any origin), a cancel flag to ask, and a listener for progress.

    ``report(cost, bound)`` is in the cost units of the problem being solved. Ask ``stopped`` often:
    a cancel must be heard within a second.
    """

    clock: Callable[[], float]
    deadline: float
    cancelled: Callable[[], bool] = field(default=never)
    report: Callable[[int, int], None] = field(default=_tell_nobody)

    @property
    def left(self) -> float:
        """Seconds left, never negative; 0 once cancelled."""
        return 0.0 if self.cancelled() else max(0.0, self.deadline - self.clock())

    @property
    def stopped(self) -> bool:
        """Whether to come back now with the best so far."""
        return self.left <= 0.0

    def within(self, seconds: float) -> Watch:
        """Return a watch that stops after ``seconds`` at the latest."""
        return replace(self, deadline=min(self.deadline, self.clock() + seconds))

    def telling(self, report: Callable[[int, int], None]) -> Watch:
        """Return this watch with another listener."""
        return replace(self, report=report)

    def quiet(self) -> Watch:
        """Return this watch with nobody listening: for a part whose cost and bound are not those of the whole."""
        return replace(self, report=_tell_nobody)
