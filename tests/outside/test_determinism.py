"""The same request gives the same plan in another process, whatever Python's hash seed is."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

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
    with ThreadPoolExecutor(max_workers=2) as two_at_a_time:
        first, *others = two_at_a_time.map(_answers, range(RUNS))
    assert first.count("Cutting(") == len(answers.problems())
    assert set(others) == {first}
