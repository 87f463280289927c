"""The dated knapsack finds what looking at every pattern finds, and the checker's does."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from solver.checking.week_bound import DatedKnapsack, DatedPiece, DatedStick
from solver.weekly.patterns.column_pool import enumerate_patterns
from solver.weekly.patterns.pricing import TimedPricer
from solver.weekly.timed import Supply, TimedPiece, TimedProblem


@st.composite
def problems(draw: st.DrawFn) -> TimedProblem:
    """One stick of 20 to 40, uncut or lying in the van, and up to five kinds of piece on four days."""
    supply = Supply(
        draw(st.integers(20, 40)), 100, None, draw(st.booleans()), draw(st.booleans()), draw(st.integers(0, 2)),
        draw(st.sampled_from([None, None, -1, 0])),
    )  # fmt: skip
    ends = st.sampled_from([(False, False)] * 3 + [(True, False), (False, True)])
    pieces = tuple(
        TimedPiece(draw(st.integers(3, 20)), draw(st.integers(1, 3)), *draw(ends), draw(st.integers(0, 3)))
        for _ in range(draw(st.integers(1, 5)))
    )
    return TimedProblem((supply,), pieces, draw(st.sampled_from([0, 1])), draw(st.sampled_from([0, 5, 9])))


@settings(max_examples=300, deadline=None)
@given(problems(), st.data())
def test_the_best_pattern_is_the_best_of_all(problem: TimedProblem, data: st.DataObject) -> None:
    """Worth of its pieces, less a toll for each night in the van and a little for each offcut carried."""
    values = [float(data.draw(st.integers(1, 50))) for _ in problem.pieces]
    tolls = {night: float(data.draw(st.integers(0, 8))) for night in range(-1, 4)}

    def worth(pattern_pieces: tuple[int, ...], nights: range, carried: int) -> float:
        toll = sum(tolls[night] for night in nights) + problem.carrying_cost * carried
        return sum(values[i] for i in pattern_pieces) - toll

    every = {
        pattern: worth(pattern.pieces, problem.nights(pattern), problem.carried(pattern))
        for pattern in enumerate_patterns(problem, 100_000)
    }
    demands = [piece.demand for piece in problem.pieces]
    found = TimedPricer(problem).best(0, values, demands, tolls, 3)
    best = max(every.values(), default=0.0)
    assert (found[0][0] if found else 0.0) == max(0.0, best) or abs(found[0][0] - best) < 1e-6
    for value, pattern in found:
        assert abs(every[pattern] - value) < 1e-6


@settings(max_examples=300, deadline=None)
@given(problems(), st.data())
def test_no_pattern_is_worth_more_than_the_checker_says(problem: TimedProblem, data: st.DataObject) -> None:
    """Just the best; but of a stick that lies in the van it need not know that one end is gone."""
    values = [data.draw(st.integers(1, 50)) for _ in problem.pieces]
    tolls = [data.draw(st.integers(0, 8)) for _ in range(4)]
    (supply,) = problem.supplies
    patterns = enumerate_patterns(problem, 100_000)
    worth = (
        sum(values[i] for i in p.pieces) - sum(tolls[night] for night in problem.nights(p) if night >= 0)
        for p in patterns
    )
    pieces = [
        DatedPiece(piece.day, problem.taken(piece.length), value, piece.demand, piece.left, piece.right)
        for piece, value in zip(problem.pieces, values, strict=True)
    ]
    stick = DatedStick(supply.length, supply.left, supply.right, Fraction(100), None, supply.first, supply.opened)
    found = DatedKnapsack(pieces, supply.length, problem.kerf, problem.shortest, tolls).best(stick)
    best = max(worth, default=0)
    assert found >= best
    if supply.opened is None or not (supply.left and supply.right):
        assert found == max(0, best)
