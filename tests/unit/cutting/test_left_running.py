"""An integer program that is cancelled: HiGHS goes on beside, and the process it is in still ends as it should."""

from __future__ import annotations

import subprocess
import sys
import time
from itertools import combinations_with_replacement
from pathlib import Path

from solver.cutting.arcflow.enumerated import Answer, Task, solved
from solver.cutting.arcflow.graph import Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.presolve import reduce
from solver.cutting.problem import Pattern
from solver.watch import Watch
from tests.outside.triplets import triplets

CANCELLED = 0.001
"""Seconds until the cancel; nothing else would end the search soon."""


def hard() -> Task:
    """Return 60 sticks' triplets, cut again from all triples that waste next to nothing: HiGHS takes long over it."""
    space = Space.of(reduce(triplets(60, 4000, 1)))
    problem = space.reduced.problem
    stick, lengths = problem.sticks[0].length, [piece.length for piece in problem.pieces]
    triples = combinations_with_replacement(range(len(lengths)), 3)
    patterns = [Pattern(0, held) for held in triples if stick - 5 <= sum(lengths[i] for i in held) <= stick]
    return Task(space, Node((), (), Counts.of(problem.sticks)), patterns, 60)


def main() -> None:
    """Cancel it as soon as it has begun, and end at once, while HiGHS is handed the program."""
    task, begun = hard(), time.monotonic()
    watch = Watch(time.monotonic, begun + 3600, lambda: time.monotonic() > begun + CANCELLED)
    answer = solved(task, 1000, watch).answer
    sys.stdout.write(f"{answer.name}\n")
    sys.stdout.flush()


def test_a_process_ends_as_it_should_while_highs_goes_on() -> None:
    """It answers, though nothing but the cancel ends it, and ends without an abort when HiGHS has come to it."""
    command = [sys.executable, "-m", "tests.unit.cutting.test_left_running"]
    done = subprocess.run(
        command, check=False, cwd=Path(__file__).parents[3], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"{Answer.OPEN.name}\n"


if __name__ == "__main__":
    main()
