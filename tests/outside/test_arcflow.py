"""On random small instances the engine's cost is that of an independent arc-flow model in another solver."""

from __future__ import annotations

import time

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from solver.cutting import CuttingProblem, Piece, Stick, solve
from solver.watch import Watch
from tests.outside.arcflow import Optimum, optimum


@st.composite
def _sticks(draw: st.DrawFn, unit: int) -> tuple[Stick, ...]:
    """One to three kinds, some limited, some free of charge, some without a factory end."""
    kinds = [
        Stick(
            draw(st.integers(20 * unit, 60 * unit)),
            draw(st.integers(0, 60)) if limit else draw(st.integers(1, 60)),
            limit,
            draw(st.booleans()),
            draw(st.booleans()),
        )
        for limit in draw(st.lists(st.one_of(st.none(), st.integers(1, 4)), min_size=1, max_size=3))
    ]
    return tuple(kinds)


@st.composite
def problems(draw: st.DrawFn, unit: int, kinds: int) -> CuttingProblem:
    """Up to so many kinds of pieces, a quarter of them needing a factory end, now and then a whole stick."""
    sticks = draw(_sticks(unit))
    needs = st.sampled_from([(False, False)] * 6 + [(True, False), (False, True)])
    lengths, demands = st.integers(5 * unit, 50 * unit), st.integers(1, 6)
    pieces = [Piece(draw(lengths), draw(demands), *draw(needs)) for _ in range(draw(st.integers(1, kinds)))]
    if draw(st.integers(0, 4)) == 0:
        pieces.append(Piece(sticks[0].length, draw(st.integers(1, 2)), left=True, right=True))
    return CuttingProblem(sticks, tuple(pieces), kerf=draw(st.sampled_from([0, 0, 1, 3])))


def _agree(problem: CuttingProblem) -> None:
    cutting = solve(problem, Watch(time.monotonic, time.monotonic() + 20))
    uncut = sum(piece.length * left for piece, left in zip(problem.pieces, cutting.uncut, strict=True))
    assert Optimum(uncut, cutting.cost) == optimum(problem)
    assert cutting.proven


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems(unit=1, kinds=6))
def test_cost_is_that_of_arc_flow(problem: CuttingProblem) -> None:
    """Least length uncut, then least cost: several sticks, costs, limits, kerf, factory ends."""
    _agree(problem)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems(unit=20_011, kinds=4))
def test_cost_is_that_of_arc_flow_on_wide_sticks(problem: CuttingProblem) -> None:
    """The same where sticks are about a million units wide and lengths have no common divisor."""
    _agree(problem)
