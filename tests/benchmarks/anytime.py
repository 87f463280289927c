"""With any limit there is a plan, a bound, and both in time: the worst instance of each set under short limits."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from solver.cutting import solve, tidy
from tests.benchmarks.instances import Instance
from tests.benchmarks.measure import Outcome, watch
from tests.benchmarks.table import table

LIMITS = (0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Answer:
    """What stood when the limit struck, and how late the answer was, tidying included."""

    group: str
    name: str
    limit: float
    seconds: float
    cost: int
    bound: int

    @property
    def late(self) -> float:
        """How far past the limit, as a share of it."""
        return self.seconds / self.limit - 1


def worst(instances: Sequence[Instance], outcomes: Iterable[Outcome]) -> list[Instance]:
    """Return the instance of each set that took longest."""
    slowest: dict[str, Outcome] = {}
    for outcome in outcomes:
        if outcome.group not in slowest or outcome.seconds > slowest[outcome.group].seconds:
            slowest[outcome.group] = outcome
    names = {(o.group, o.name) for o in slowest.values()}
    return [instance for instance in instances if (instance.group, instance.name) in names]


def answers(instances: Iterable[Instance]) -> Iterator[Answer]:
    """Solve and tidy each instance under each limit."""
    for instance in instances:
        for limit in LIMITS:
            begun, given = time.perf_counter(), watch(limit)
            cutting = tidy(instance.problem, solve(instance.problem, given), given)
            took = time.perf_counter() - begun
            yield Answer(instance.group, instance.name, limit, took, cutting.cost, cutting.bound)


def anytime_table(found: Iterable[Answer]) -> str:
    """Return what was answered when."""
    rows = [
        (
            a.group,
            a.name,
            a.limit,
            f"{a.seconds:.3f}",
            f"{100 * a.late:+.0f} %",
            a.cost,
            a.bound,
            "LATE" * (a.late > 0.1),
        )
        for a in found
    ]
    return table(("set", "instance", "limit s", "answered s", "past the limit", "cost", "bound", ""), rows)
