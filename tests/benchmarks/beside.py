"""The engine and what a user would reach for instead, on the same instances in the same run."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import exp, log
from statistics import mean

from solver.cutting import solve
from tests.benchmarks.baselines import METHODS, Baseline, timed
from tests.benchmarks.instances import Instance
from tests.benchmarks.measure import watch
from tests.benchmarks.table import table

ENGINE = "this engine"


@dataclass(frozen=True, slots=True)
class Pair:
    """What the engine and one other method did on one instance."""

    group: str
    name: str
    method: str
    engine: Baseline
    other: Baseline

    @property
    def ratio(self) -> float:
        """How many times as long the other took; a method that did not prove its cost counts with the limit."""
        return self.other.seconds / max(1e-4, self.engine.seconds)

    @property
    def contradicts(self) -> bool:
        """Whether both claim a proof, of different costs."""
        return None not in (self.engine.cost, self.other.cost) and self.engine.cost != self.other.cost


def side_by_side(instances: Iterable[Instance], seconds: float) -> Iterator[list[Pair]]:
    """Run every method on every instance, each with the same limit."""
    for instance in instances:
        begun = time.perf_counter()
        cutting = solve(instance.problem, watch(seconds))
        took = time.perf_counter() - begun
        engine = Baseline(cutting.cost, took) if cutting.proven else Baseline(None, seconds)
        yield [
            Pair(instance.group, instance.name, name, engine, timed(method, instance.problem, seconds))
            for name, method in METHODS.items()
        ]


def beside_table(pairs: Sequence[Pair]) -> str:
    """Return, per set and method, how many were proven, mean seconds, and the ratios of times pair by pair."""
    head = (
        "set",
        "method",
        "proven",
        "engine proven",
        "mean s",
        "engine mean s",
        "ratio, geometric mean",
        "least",
        "most",
        "",
    )
    rows = []
    for group, method in dict.fromkeys((p.group, p.method) for p in pairs):
        own = [p for p in pairs if (p.group, p.method) == (group, method)]
        ratios = [p.ratio for p in own]
        rows.append(
            (
                group,
                method,
                f"{sum(p.other.cost is not None for p in own)}/{len(own)}",
                f"{sum(p.engine.cost is not None for p in own)}/{len(own)}",
                f"{mean(p.other.seconds for p in own):.2f}",
                f"{mean(p.engine.seconds for p in own):.3f}",
                f"{exp(mean(map(log, ratios))):.1f}",
                f"{min(ratios):.1f}",
                f"{max(ratios):.1f}",
                "CONTRADICTION" * any(p.contradicts for p in own),
            )
        )
    return table(head, rows)
