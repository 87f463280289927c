"""The same request gives the same plan in another process, whatever Python's hash seed is."""

from __future__ import annotations

import os
import subprocess
import sys

from tests.outside import answers


def _answers(seed: str) -> list[str]:
    """Solve and tidy twenty problems in a process of its own; one line each."""
    done = subprocess.run(
        [sys.executable, "-m", answers.__name__],
        env={**os.environ, "PYTHONHASHSEED": seed},
        capture_output=True,
        text=True,
        check=True,
        timeout=100,
    )
    return done.stdout.splitlines()


def test_twenty_requests_have_the_same_answers_in_three_processes() -> None:
    """Three hash seeds, one of them drawn anew every time: one answer each, down to the order of the patterns."""
    first, second, drawn = _answers("0"), _answers("1"), _answers("random")
    assert len(first) == len(answers.problems()) == 20
    assert first == second == drawn
