"""Published worked examples come out at the published or twice-verified optimum, proven."""

from __future__ import annotations

import time

import pytest

from solver.cutting import solve, tidy
from solver.watch import Watch
from tests.outside.worked_examples import ALL, Example


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_example_is_solved_and_proven(example: Example) -> None:
    """The engine's plan costs what the source (or two independent models) says, and is proven best."""
    cutting = solve(example.problem(), Watch(time.monotonic, time.monotonic() + 20))
    assert (cutting.cost, cutting.bound) == (example.optimum, example.optimum)
    assert cutting.proven


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_tidying_an_example_costs_nothing(example: Example) -> None:
    """The tidied plan of every example costs what the untidied one did."""
    watch = Watch(time.monotonic, time.monotonic() + 20)
    problem = example.problem()
    assert tidy(problem, solve(problem, watch), watch).cost == example.optimum
