"""One instance of each published class is solved to its optimum, proven."""

from __future__ import annotations

import time

import pytest

from solver.cutting import solve
from solver.watch import Watch
from tests.outside.arcflow import Optimum, optimum
from tests.outside.published_samples import SAMPLES, SEVERAL_LENGTHS, Sample


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_sample_is_solved_and_proven(sample: Sample) -> None:
    """Cost and bound are the published optimum."""
    cutting = solve(sample.problem(), Watch(time.monotonic, time.monotonic() + 30))
    assert (cutting.cost, cutting.bound) == (sample.optimum, sample.optimum)


def test_several_lengths_are_solved_as_an_independent_model_does() -> None:
    """No optimum is published: cost and bound are what arc-flow in another solver finds."""
    assert optimum(SEVERAL_LENGTHS.problem()) == Optimum(0, SEVERAL_LENGTHS.optimum)
    cutting = solve(SEVERAL_LENGTHS.problem(), Watch(time.monotonic, time.monotonic() + 30))
    assert (cutting.cost, cutting.bound) == (SEVERAL_LENGTHS.optimum, SEVERAL_LENGTHS.optimum)
