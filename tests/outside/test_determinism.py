"""The same request gives the same plan in another process, whatever Python's hash seed is."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.outside import answers

RUNS = 20


def _answers(seed: int) -> str:
    """Solve and tidy the sample in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", answers.__name__],
        env={**os.environ, "PYTHONHASHSEED": str(seed)},
        capture_output=True,
        text=True,
        check=True,
        timeout=100,
    )
    return done.stdout


def test_same_answers_in_twenty_processes() -> None:
    """Twenty hash seeds, one answer, down to the order of the patterns."""
    first = _answers(0)
    assert first.count("Cutting(") == len(answers.problems())
    assert all(_answers(seed) == first for seed in range(1, RUNS))
