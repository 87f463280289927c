"""Pricing very wide sticks: coarse grids and the exact search against a table over every length."""

from __future__ import annotations

import time

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.cutting.pricing.labels import ScaledPricer
from solver.cutting.pricing.protocol import Prices
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.watch import Watch

ENDLESS = Watch(time.monotonic, float("inf"))

# 150 in and 144 in sticks in ticks of 1/8128 in; 1/64 in and 0.1 mm leave no common divisor but one tick.
LONG, SHORT = 1_219_200, 1_170_432


def price(problem: CuttingProblem, values: list[int], floors: list[int], cells: int = 8192) -> Prices:
    """Price with copies as demanded."""
    copies = np.array([piece.demand for piece in problem.pieces], np.int64)
    return ScaledPricer(problem, len(problem.sticks), cells).price(np.array(values, np.int64), copies, floors, ENDLESS)


def worth(pattern: Pattern, values: list[int]) -> int:
    """What a pattern is worth."""
    return sum(values[i] for i in pattern.pieces)


def test_a_perfect_fit_is_found_to_the_tick() -> None:
    """Two pieces that fill a million ticks exactly are one pattern; one tick longer and they are none."""
    fits = CuttingProblem((Stick(LONG, 1),), (Piece(700_001, 1), Piece(519_199, 1)))
    assert price(fits, [6, 5], [10]) == Prices((11,), (Pattern(0, (0, 1)),))
    over = CuttingProblem((Stick(LONG, 1),), (Piece(700_001, 1), Piece(519_200, 1)))
    assert price(over, [6, 5], [10]) == Prices((10,), ())


def test_every_stick_gets_its_own_ceiling_and_patterns() -> None:
    """The pair that fills the long stick does not fit the short one, whose best is the longer piece alone."""
    problem = CuttingProblem((Stick(LONG, 1), Stick(SHORT, 1)), (Piece(700_001, 1), Piece(519_199, 1)))
    found = price(problem, [6, 5], [10, 5])
    assert Pattern(0, (0, 1)) in found.patterns or found.patterns == (Pattern(1, (0,)),)
    assert found.ceilings[0] >= 11
    assert found.ceilings[1] >= 6


def test_no_pattern_holds_more_copies_than_are_wanted() -> None:
    """Four of a piece would fit, but three are wanted."""
    problem = CuttingProblem((Stick(LONG, 1),), (Piece(300_001, 3),))
    assert price(problem, [5], [14]) == Prices((15,), (Pattern(0, (0, 0, 0)),))
    assert price(problem, [5], [15]) == Prices((15,), ())


def test_a_factory_end_is_used_once() -> None:
    """Of two pieces that need the left end one is in a pattern; a stick without it holds neither."""
    pieces = (Piece(300_001, 1, left=True), Piece(200_001, 1, left=True), Piece(100_001, 2))
    problem = CuttingProblem((Stick(LONG, 1), Stick(LONG, 1, left=False)), pieces)
    found = price(problem, [9, 8, 1], [10, 1])
    assert set(found.patterns) == {Pattern(0, (0, 2, 2)), Pattern(1, (2, 2))}


def test_a_stopped_search_still_gives_a_valid_ceiling() -> None:
    """With no time left the ceiling is the coarse one: above the best pattern, and no pattern is invented."""
    problem = CuttingProblem((Stick(LONG, 1),), (Piece(700_001, 1), Piece(519_199, 1)))
    stopped = Watch(lambda: 1.0, 0.0)
    found = ScaledPricer(problem, 1).price(np.array([6, 5]), np.array([1, 1]), [10], stopped)
    assert found == Prices((11,), ())


def test_an_exact_search_ends_with_the_states_it_may_look_at() -> None:
    """With none to look at the ceiling is the coarse one, with enough it is sharp; what is used up is not renewed."""
    problem = CuttingProblem((Stick(LONG, 1),), (Piece(700_001, 1), Piece(519_199, 1)))
    values, copies = np.array([6, 5]), np.array([1, 1])
    assert ScaledPricer(problem, 1, states=0).price(values, copies, [10], ENDLESS) == Prices((11,), ())
    few = ScaledPricer(problem, 1, states=1)
    sharp = ScaledPricer(problem, 1).price(values, copies, [10], ENDLESS)
    few.price(values, copies, [10], ENDLESS)
    assert sharp == ScaledPricer(problem, 1, states=1000).price(values, copies, [10], ENDLESS)
    assert few.price(values, copies, [10], ENDLESS) == Prices((11,), ())


@st.composite
def problems(draw: st.DrawFn) -> tuple[CuttingProblem, list[int], list[int]]:
    """Small problems with ends, values and floors, so that a table over every length can be the judge."""
    lengths = draw(st.lists(st.integers(20, 300), min_size=1, max_size=3, unique=True))
    sticks = [Stick(n, 1, None, draw(st.booleans()), draw(st.booleans())) for n in lengths]
    sizes = draw(
        st.lists(
            st.tuples(st.integers(5, 150), st.integers(1, 5), st.sampled_from(["plain", "left", "right"])),
            min_size=1,
            max_size=8,
        )
    )
    pieces = tuple(Piece(n, d, end == "left", end == "right") for n, d, end in sizes)
    values = [draw(st.integers(0, 20)) for _ in pieces]
    return CuttingProblem(tuple(sticks), pieces), values, [draw(st.integers(0, 60)) for _ in sticks]


@settings(max_examples=300, deadline=None)
@given(problems(), st.sampled_from([7, 16, 1000]))
def test_wide_pricing_agrees_with_a_table_over_every_length(
    case: tuple[CuttingProblem, list[int], list[int]], cells: int
) -> None:
    """Patterns are real and worth more than their floor; ceilings hold, and are sharp where nothing is found."""
    problem, values, floors = case
    copies = np.array([piece.demand for piece in problem.pieces], np.int64)
    best = TablePricer(problem, len(problem.sticks)).price(np.array(values), copies, floors, ENDLESS).ceilings
    found = price(problem, values, floors, cells)
    for pattern in found.patterns:
        assert floors[pattern.stick] < worth(pattern, values) <= best[pattern.stick]
        assert all(pattern.pieces.count(i) <= copies[i] for i in pattern.pieces)
        assert_fits(problem, pattern)
    assert all(ceiling >= exact for ceiling, exact in zip(found.ceilings, best, strict=True))
    if not found.patterns:
        assert all(exact <= floor for exact, floor in zip(best, floors, strict=True))
        assert all(top <= max(f, b) for top, f, b in zip(found.ceilings, floors, best, strict=True))


def assert_fits(problem: CuttingProblem, pattern: Pattern) -> None:
    """A pattern fits its stick in length and in factory ends."""
    stick, pieces = problem.sticks[pattern.stick], [problem.pieces[i] for i in pattern.pieces]
    assert sum(piece.length for piece in pieces) <= stick.length
    assert sum(piece.left for piece in pieces) <= stick.left
    assert sum(piece.right for piece in pieces) <= stick.right
