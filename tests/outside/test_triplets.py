"""Where the optimum is known because the pieces were cut from it, the engine finds and proves it."""

from __future__ import annotations

import time

import pytest

from solver.cutting import CuttingProblem, solve
from solver.watch import Watch
from tests.outside.triplets import triplets, two_lengths, with_kerf

SIZES = [(5, 100), (10, 400), (20, 1000), (40, 1000), (60, 2400)]


def _cost_and_bound(problem: CuttingProblem) -> tuple[int, int]:
    cutting = solve(problem, Watch(time.monotonic, time.monotonic() + 20))
    return cutting.cost, cutting.bound


@pytest.mark.parametrize(("sticks", "length"), SIZES)
def test_triplets_come_back_without_waste(sticks: int, length: int) -> None:
    """Three pieces out of each stick, none left over: as many sticks again."""
    assert _cost_and_bound(triplets(sticks, length, seed=sticks)) == (sticks, sticks)


@pytest.mark.parametrize(("sticks", "length"), SIZES)
def test_triplets_come_back_with_kerf(sticks: int, length: int) -> None:
    """The same where the saw takes two kerfs of every stick."""
    assert _cost_and_bound(with_kerf(triplets(sticks, length, seed=sticks + 1), 3)) == (sticks, sticks)


@pytest.mark.parametrize("sticks", [3, 6, 12])
def test_triplets_of_two_lengths_come_back_without_waste(sticks: int) -> None:
    """Two stock lengths, each limited to what was cut up: the cost is the length of the pieces."""
    problem = two_lengths(sticks, 240, seed=sticks)
    length = sum(piece.length * piece.demand for piece in problem.pieces)
    assert _cost_and_bound(problem) == (length, length)
