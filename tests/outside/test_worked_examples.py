"""Published worked examples come out at the published or twice-verified optimum, proven."""

from __future__ import annotations

import time
from functools import cache

import pytest

from solver.cutting import Cutting, solve, tidy
from solver.watch import Watch
from tests.outside.worked_examples import ALL, Example


def _watch() -> Watch:
    return Watch(time.monotonic, time.monotonic() + 20)


@cache
def _solved(example: Example) -> Cutting:
    return solve(example.problem(), _watch())


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_example_is_solved_and_proven(example: Example) -> None:
    """The engine's plan costs what the source (or two independent models) says, and is proven best."""
    cutting = _solved(example)
    assert (cutting.cost, cutting.bound) == (example.optimum, example.optimum)


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_tidying_an_example_costs_nothing(example: Example) -> None:
    """The tidied plan of every example costs what the untidied one did."""
    assert tidy(example.problem(), _solved(example), _watch()).cost == example.optimum
