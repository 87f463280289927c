"""Small cutting problems against every plan tried, every pattern listed, and rational arithmetic."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import count, product
from math import ceil

from hypothesis import given
from hypothesis import strategies as st

from solver.cutting import Cutting, CuttingProblem, Duals, Piece, Stick, solve
from solver.cutting.bounds import Counts
from solver.cutting.columns import Goal, Relaxation
from solver.cutting.presolve import reduce
from solver.cutting.pricing.table import TablePricer
from solver.watch import Watch
from tests.support.every_plan import Held, best_by_trying, every_pattern, faults
from tests.support.rational import most_worth
from tests.support.untimed import UNTIMED

STICKS = st.builds(
    Stick,
    length=st.integers(8, 30),
    cost=st.one_of(st.integers(0, 3), st.integers(0, 40)),
    limit=st.sampled_from([None, None, 0, 1, 2, 3]),
    left=st.booleans(),
    right=st.booleans(),
)
PIECES = st.builds(Piece, length=st.integers(3, 28), demand=st.integers(1, 3), left=st.booleans(), right=st.booleans())
PLAIN = st.builds(Piece, length=st.integers(3, 28), demand=st.integers(1, 9))


@st.composite
def problems(draw: st.DrawFn) -> CuttingProblem:
    """A problem with few enough pieces to try every plan; some pieces are whole sticks."""
    sticks = draw(st.lists(STICKS, min_size=1, max_size=3))
    pieces = draw(st.lists(PIECES, min_size=1, max_size=4))
    whole = draw(st.sampled_from(sticks)).length
    pieces = [replace(p, length=whole) if p.left and p.right and p.demand > 1 else p for p in pieces]
    return CuttingProblem(tuple(sticks), tuple(pieces), draw(st.integers(0, 2)))


@st.composite
def endless(draw: st.DrawFn) -> CuttingProblem:
    """A problem of one stick without limit, costing one, that holds every piece."""
    pieces = draw(st.lists(PLAIN, min_size=1, max_size=5))
    return CuttingProblem((Stick(30, 1),), tuple(pieces), draw(st.integers(0, 2)))


def solved(problem: CuttingProblem) -> Cutting:
    """Solve with all the time in the world."""
    return solve(problem, Watch(time.monotonic, time.monotonic() + 60))


def length_uncut(problem: CuttingProblem, cutting: Cutting) -> int:
    """Return the total length that a cutting leaves uncut."""
    return sum(piece.length * left for piece, left in zip(problem.pieces, cutting.uncut, strict=True))


def assert_right(problem: CuttingProblem, cutting: Cutting) -> None:
    """Every stick holds what it should, and every piece is cut or counted as uncut."""
    uses = tuple(((pattern.stick, pattern.pieces), times) for pattern, times in cutting.uses)
    assert list(faults(problem, uses)) == []
    for i, piece in enumerate(problem.pieces):
        assert sum(pieces.count(i) * times for (_, pieces), times in uses) + cutting.uncut[i] == piece.demand
    assert cutting.cost == sum(problem.sticks[k].cost * times for (k, _), times in uses)
    assert 0 <= cutting.bound <= cutting.cost


@UNTIMED
@given(problems())
def test_no_plan_is_better(problem: CuttingProblem) -> None:
    """The plan is right, proven, and as good as the best of all plans: least uncut first, then least cost."""
    cutting = solved(problem)
    assert_right(problem, cutting)
    assert cutting.proven
    assert (length_uncut(problem, cutting), cutting.cost) == best_by_trying(problem)


@UNTIMED
@given(problems())
def test_a_certificate_proves_what_it_says(problem: CuttingProblem) -> None:
    """Sticks that cost less than the bound, within their limits, are worth less than all pieces together."""
    cutting = solved(problem)
    if isinstance(cutting.proof, Duals):
        rows = [_row(problem, values) for values in (cutting.proof.values, *cutting.proof.further)]
        assert cutting.bound == 0 or not any(
            all(sum(n * k for n, k in zip(numbers, yields, strict=True)) >= worth for yields, worth in rows)
            for numbers in _numbers_below(problem, cutting.bound)
        )


def _row(problem: CuttingProblem, values: tuple[int, ...]) -> tuple[list[int], int]:
    """Return what each stick can be worth at most, and all pieces together."""
    yields = [max((_worth(held, values) for held in held), default=0) for held in every_pattern(problem)]
    return yields, sum(piece.demand * value for piece, value in zip(problem.pieces, values, strict=True))


def _numbers_below(problem: CuttingProblem, cost: int) -> Iterator[tuple[int, ...]]:
    """Yield all numbers of sticks worth having that cost less together, none more than there are pieces."""
    pieces = sum(piece.demand for piece in problem.pieces)
    limits = [pieces if stick.limit is None else min(pieces, stick.limit) for stick in problem.sticks]
    limits = [0 if _outdone(problem, k) else limit for k, limit in enumerate(limits)]
    for numbers in product(*(range(limit + 1) for limit in limits)):
        if sum(n * stick.cost for n, stick in zip(numbers, problem.sticks, strict=True)) < cost:
            yield numbers


def _outdone(problem: CuttingProblem, k: int) -> bool:
    """Whether another stick, without limit, would do wherever this one does, and costs no more."""
    stick = problem.sticks[k]
    alike = replace(stick, limit=None)
    others = (o for o in problem.sticks if o.limit is None and o.cost <= stick.cost and o != alike)
    does = all(not (p.left and p.right and p.length == stick.length and p.demand) for p in problem.pieces)
    return does and any(o.length >= stick.length and o.left >= stick.left and o.right >= stick.right for o in others)


def _worth(held: tuple[int, ...], values: tuple[int, ...]) -> int:
    return sum(copies * value for copies, value in zip(held, values, strict=True))


def full(patterns: list[Held]) -> list[Held]:
    """Return the patterns to which no piece can be added: where these are worth a stick at most, so are all others."""
    known = set(patterns)
    return [held for held in patterns if not any(_one_more(held, i) in known for i in range(len(held)))]


def _one_more(held: Held, i: int) -> Held:
    return (*held[:i], held[i] + 1, *held[i + 1 :])


@UNTIMED
@given(endless())
def test_the_bound_is_the_rational_value_rounded_up(problem: CuttingProblem) -> None:
    """Column generation in floats proves the value that the program over all patterns has in rationals, rounded up."""
    held = full(every_pattern(problem)[0])
    value = most_worth([piece.demand for piece in problem.pieces], held, [1] * len(held))
    reduced = reduce(problem)
    demands = [piece.demand for piece in reduced.problem.pieces]
    goal = Goal(demands, Counts.of(reduced.problem.sticks), lambda bound: bound, 10**9)
    relaxation = Relaxation(reduced, TablePricer(reduced.problem, reduced.priced), 10**6)
    certificate = relaxation.solve(goal, Watch(time.monotonic, time.monotonic() + 60)).certificate
    assert certificate is not None
    assert certificate.bound == ceil(value)


@UNTIMED
@given(problems(), st.integers(0, 40))
def test_whenever_it_is_stopped_it_has_a_plan(problem: CuttingProblem, patience: int) -> None:
    """Stopped after any number of looks at the clock, the plan is right and the bound is one."""
    looks = count()
    cutting = solve(problem, Watch(lambda: float(next(looks)), patience))
    assert_right(problem, cutting)
    if cutting.least_uncut:
        assert (length_uncut(problem, cutting), cutting.bound) <= best_by_trying(problem)


@UNTIMED
@given(problems())
def test_the_same_problem_has_the_same_answer(problem: CuttingProblem) -> None:
    """Two runs give the same patterns, bound and proof."""
    assert solved(problem) == solved(problem)
