"""One instance solved and tidied, with what it took and whether the published optimum agrees."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from hashlib import sha256
from typing import Any

from solver.cutting import solve
from solver.cutting.problem import Duals
from solver.cutting.tidy import tidied
from solver.watch import Watch
from tests.benchmarks.instances import Instance
from tests.support.tidiness import Tidiness, tidiness


@dataclass(frozen=True, slots=True)
class Outcome:
    """One instance's figures.

    ``seconds`` is solving alone, on the clock; ``cpu`` times are this process's own. Tidiness is before
    and after; ``least`` names the goals shown to be least. ``plan`` tells plans apart: it is the same only where every
    pattern is used as often, before it was tidied.
    """

    group: str
    name: str
    cost: int
    bound: int
    optimum: int | None
    proof: str
    seconds: float
    cpu: float
    tidy_seconds: float
    tidy_cpu: float
    before: Tidiness
    after: Tidiness
    least: tuple[str, ...]
    plan: str

    @property
    def proven(self) -> bool:
        """Whether cost and bound meet."""
        return self.cost == self.bound

    @property
    def optimal(self) -> bool:
        """Whether the cost is the least, by proof or by publication."""
        return self.proven or self.cost == self.optimum

    @property
    def gap(self) -> float:
        """What the cost is above the bound, as a share of the cost."""
        return (self.cost - self.bound) / self.cost if self.cost else 0.0

    @property
    def contradicts(self) -> bool:
        """Whether cost or bound can't be true if the published optimum is."""
        return self.optimum is not None and not self.bound <= self.optimum <= self.cost

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {**asdict(self), "proven": self.proven}


def measure(instance: Instance, seconds: float) -> Outcome:
    """Solve one instance in at most ``seconds`` of CPU, then tidy its plan in at most ``seconds`` more."""
    begun = _now()
    cutting = solve(instance.problem, watch(seconds, time.process_time))
    solved = _now()
    best = tidied(instance.problem, cutting, watch(seconds, time.process_time))
    done = _now()
    return Outcome(
        instance.group,
        instance.name,
        cutting.cost,
        cutting.bound if cutting.least_uncut else 0,
        instance.optimum,
        "duals" if isinstance(cutting.proof, Duals) else cutting.proof.text,
        solved[0] - begun[0],
        solved[1] - begun[1],
        done[0] - solved[0],
        done[1] - solved[1],
        tidiness(instance.problem, cutting.uses),
        tidiness(instance.problem, best.uses),
        tuple(goal for goal, least in best.least.items() if least),
        sha256(repr(sorted(cutting.uses)).encode()).hexdigest()[:16],
    )


def _now() -> tuple[float, float]:
    """Return the time on the clock and of this process: on a busy machine they differ."""
    return time.perf_counter(), time.process_time()


def watch(seconds: float, clock: Callable[[], float] = time.monotonic) -> Watch:
    """Return a watch of so many seconds from now."""
    return Watch(clock, clock() + seconds)
