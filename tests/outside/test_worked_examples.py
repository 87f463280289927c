"""Worked examples from books, manuals and the trade come out at their optimum, proven."""

from __future__ import annotations

import time
from functools import cache

import pytest

from solver.cutting import Cutting, solve, tidy
from solver.watch import Watch
from tests.outside.arcflow import Optimum, optimum
from tests.outside.worked_examples import ALL, Example


def _watch() -> Watch:
    return Watch(time.monotonic, time.monotonic() + 20)


@cache
def _solved(example: Example) -> Cutting:
    return solve(example.problem(), _watch())


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_example_is_solved_and_proven(example: Example) -> None:
    """The engine's plan costs what the source states as the best, or what the model below finds, and is proven."""
    cutting = _solved(example)
    assert (cutting.cost, cutting.bound) == (example.optimum, example.optimum)


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_tidying_an_example_costs_nothing(example: Example) -> None:
    """The tidied plan of every example costs what the untidied one did."""
    assert tidy(example.problem(), _solved(example), _watch()).cost == example.optimum


@pytest.mark.parametrize("example", [e for e in ALL if not e.stated], ids=lambda example: example.name)
def test_what_no_source_states_is_found_by_an_independent_model(example: Example) -> None:
    """Arc-flow in another solver finds the same optimum, and nothing uncut."""
    assert optimum(example.problem()) == Optimum(0, example.optimum)
