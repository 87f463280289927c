"""Solve and tidy twenty small problems and print the answers, to be compared between processes."""

from __future__ import annotations

import time
from dataclasses import replace

from solver.cutting import CuttingProblem, Piece, Stick, solve, tidy
from solver.watch import Watch
from tests.benchmarks.siding import plain
from tests.outside.published_samples import SAMPLES
from tests.outside.triplets import triplets, two_lengths

_ENDS = CuttingProblem(
    (Stick(150, 980), Stick(200, 1200, 4), Stick(62, 0, 1, left=True, right=False)),
    (
        Piece(115, 8, left=True),
        Piece(100, 5, right=True),
        Piece(50, 11),
        Piece(28, 9),
        Piece(150, 1, left=True, right=True),
    ),
    kerf=1,
    keep_from=36,
)
_PRICES = CuttingProblem(
    (Stick(150, 980), Stick(120, 790, 6), Stick(200, 1290), Stick(77, 0, 1)),
    tuple(Piece(length, 1 + length % 5) for length in (118, 96, 83, 71, 64, 52, 47, 33, 26)),
    keep_from=36,
)


def problems() -> list[CuttingProblem]:
    """Return problems that reach every stage of the engine: one length and several, limits, ends, kerf, offcuts."""
    generated = (plain(5 + seed // 2, 300, 1 + seed % 3, seed) for seed in range(14))
    return [
        _ENDS,
        _PRICES,
        triplets(6, 400, seed=3),
        triplets(10, 400, seed=4),
        two_lengths(3, 240, seed=5),
        SAMPLES[0].problem(),
        *(replace(problem, keep_from=60) for problem in generated),
    ]


def main() -> None:
    """Print every answer on a line."""
    for problem in problems():
        watch = Watch(time.monotonic, time.monotonic() + 60)
        print(tidy(problem, solve(problem, watch), watch))


if __name__ == "__main__":
    main()
