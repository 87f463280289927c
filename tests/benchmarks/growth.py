"""How time grows with the number of different lengths, with the width of the stick, and with the kinds of stick."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass

from solver.cutting import CuttingProblem, solve
from tests.benchmarks.measure import watch
from tests.benchmarks.siding import plain
from tests.benchmarks.table import table

LENGTHS = (10, 20, 50, 100, 200, 500, 1000, 2000)
WIDTHS = (100, 300, 1_000, 3_000, 10_000, 30_000, 100_000, 500_000, 1_500_000)
STICKS = (1, 2, 3, 5, 8, 12, 16, 20)
SEEDS = 3


@dataclass(frozen=True, slots=True)
class Step:
    """One point of one curve: the mean over a few lists, how many were proven, and the worst gap."""

    varied: str
    value: int
    seconds: float
    proven: int
    gap: float


def growth(seconds: float) -> Iterator[Step]:
    """Vary one of lengths, width and kinds of stick at a time; the others are 40 lengths, 10,000 wide, one kind."""
    for kinds in LENGTHS:
        yield _step("lengths", kinds, [plain(kinds, 10_000, 1, seed) for seed in range(SEEDS)], seconds)
    for width in WIDTHS:
        yield _step("width", width, [plain(40, width, 1, seed) for seed in range(SEEDS)], seconds)
    for stocks in STICKS:
        yield _step("kinds of stick", stocks, [plain(40, 10_000, stocks, seed) for seed in range(SEEDS)], seconds)


def _step(varied: str, value: int, problems: list[CuttingProblem], seconds: float) -> Step:
    begun = time.perf_counter()
    cuttings = [solve(problem, watch(seconds)) for problem in problems]
    took = (time.perf_counter() - begun) / len(problems)
    gap = max((c.cost - c.bound) / c.cost for c in cuttings)
    return Step(varied, value, took, sum(c.proven for c in cuttings), gap)


def growth_table(steps: list[Step]) -> str:
    """Return the curves as a table."""
    rows = [(s.varied, s.value, f"{s.seconds:.3f}", f"{s.proven}/{SEEDS}", f"{100 * s.gap:.3f} %") for s in steps]
    return table(("varied", "value", "mean s", "proven", "worst gap"), rows)
