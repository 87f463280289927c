"""Closing by flow against brute force: every target below the optimum is refused, the optimum itself is found."""

from __future__ import annotations

import time
from dataclasses import replace
from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.cutting.arcflow import Search
from solver.cutting.arcflow.enumerated import Answer, Task, holds, solved, tightened
from solver.cutting.arcflow.graph import Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.presolve import Reduced, reduce
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.watch import Watch

ENDLESS = Watch(time.monotonic, float("inf"))

PARTS = 10_000
"""More parts than any of these needs."""


@st.composite
def problems(draw: st.DrawFn) -> CuttingProblem:
    """Small problems: one to three kinds of stick, some limited, up to nine pieces, some needing a factory end."""
    kinds = draw(st.lists(st.integers(6, 24), min_size=1, max_size=3, unique=True))
    limits = st.sampled_from([None, None, 1, 2])
    sticks = tuple(Stick(n, draw(st.integers(1, 12)), draw(limits), draw(st.booleans())) for n in kinds)
    ends = st.sampled_from(["plain", "plain", "left", "right", "both"])
    sizes = draw(st.lists(st.tuples(st.integers(2, 24), st.integers(1, 3), ends), min_size=1, max_size=4))
    pieces = tuple(Piece(n, d, end in ("left", "both"), end in ("right", "both")) for n, d, end in sizes)
    return CuttingProblem(sticks, pieces)


def patterns(reduced: Reduced) -> list[Pattern]:
    """Every pattern of a reduced problem, by trying all counts."""
    problem = reduced.problem
    plain = [i for i in range(len(problem.pieces)) if i not in reduced.whole]
    found = list(reduced.given)
    for k, stick in enumerate(problem.sticks[: reduced.priced]):
        for counts in product(*(range(problem.pieces[i].demand + 1) for i in plain)):
            held = tuple(i for i, n in zip(plain, counts, strict=True) for _ in range(n))
            parts = [problem.pieces[i] for i in held]
            fits = sum(part.length for part in parts) <= stick.length
            ends = sum(p.left for p in parts) <= stick.left and sum(p.right for p in parts) <= stick.right
            if held and fits and ends:
                found.append(Pattern(k, held))
    return found


def least_cost(reduced: Reduced) -> int:
    """The least cost of any plan, stick by stick."""
    problem = reduced.problem
    usable = patterns(reduced)

    @cache
    def rest(wanted: tuple[int, ...], left: tuple[int, ...]) -> int:
        if not any(wanted):
            return 0
        first = next(i for i, n in enumerate(wanted) if n)
        costs = [10**9]
        for p in usable:
            if first in p.pieces and left[p.stick] and all(p.pieces.count(i) <= wanted[i] for i in p.pieces):
                after = tuple(n - p.pieces.count(i) for i, n in enumerate(wanted))
                fewer = tuple(n - (k == p.stick) for k, n in enumerate(left))
                costs.append(problem.sticks[p.stick].cost + rest(after, fewer))
        return min(costs)

    limits = tuple(stick.limit if stick.limit is not None else 99 for stick in problem.sticks)
    return rest(tuple(piece.demand for piece in problem.pieces), limits)


@pytest.mark.parametrize(("few", "evenly"), [(0, False), (0, True), (12_000, True)])
@settings(max_examples=40, deadline=None)
@given(problem=problems())
def test_a_search_finds_the_optimum_and_nothing_below(problem: CuttingProblem, few: int, *, evenly: bool) -> None:
    """With the integer program, and (``few`` 0) by splitting alone, longest piece first or nearest a half."""
    reduced = reduce(problem)
    if not reduced.problem.pieces:
        return
    best, space = least_cost(reduced), Space.of(reduced)
    search = Search(space, TablePricer(reduced.problem, reduced.priced), (), ENDLESS, few)
    search.evenly = evenly
    assert search.run(best - 1, PARTS).answer is Answer.NONE
    outcome = search.run(best, PARTS)
    assert outcome.answer is Answer.FOUND
    assert outcome.uses is not None
    assert holds(space, Counts.of(reduced.problem.sticks), outcome.uses, best)


@settings(max_examples=100, deadline=None)
@given(problem=problems(), spare=st.integers(0, 2))
def test_tightening_loses_no_plan(problem: CuttingProblem, spare: int) -> None:
    """Of all patterns it keeps enough for the best plan, and below the best cost the rest has none."""
    reduced = reduce(problem)
    if not reduced.problem.pieces:
        return
    space, best, every = Space.of(reduced), least_cost(reduced), patterns(reduced)
    node = Node((), (), Counts.of(reduced.problem.sticks))
    kept = tightened(Task(space, node, every, best + spare), ENDLESS)
    assert kept is not None
    outcome = solved(replace(kept, target=best), 1000, ENDLESS)
    assert outcome.answer is Answer.FOUND
    none = tightened(Task(space, node, every, best - 1), ENDLESS)
    assert none is None or solved(none, 1000, ENDLESS).answer is Answer.NONE
