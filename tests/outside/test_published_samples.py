"""One instance of each published class is solved to its published optimum, proven."""

from __future__ import annotations

import time

import pytest

from solver.cutting import solve
from solver.watch import Watch
from tests.outside.published_samples import SAMPLES, Sample


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_sample_is_solved_and_proven(sample: Sample) -> None:
    """Cost and bound are the published optimum."""
    cutting = solve(sample.problem(), Watch(time.monotonic, time.monotonic() + 30))
    assert (cutting.cost, cutting.bound) == (sample.optimum, sample.optimum)
