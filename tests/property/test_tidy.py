"""On small problems the tidied plan is the tidiest of all plans of its cost, by trying them all."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from solver.cutting import solve
from solver.cutting.problem import Cutting, CuttingProblem, Pattern, Piece, Stick
from solver.cutting.tidy import tidied, tidiest, tidy
from solver.cutting.tidying import gather
from solver.cutting.tidying.pool import Uses
from solver.watch import Watch
from tests.support.tidiness import Tidiness, tidiness


@st.composite
def _sticks(draw: st.DrawFn) -> tuple[Stick, ...]:
    """One to three kinds; the first without limit and with both factory ends, so that everything can be cut."""
    first = Stick(30, draw(st.integers(1, 3)))
    more = st.builds(
        Stick,
        length=st.integers(10, 30),
        cost=st.integers(0, 3),
        limit=st.integers(1, 2),
        left=st.booleans(),
        right=st.booleans(),
    )
    return first, *draw(st.lists(more, max_size=2))


@st.composite
def problems(draw: st.DrawFn, most: int = 3) -> CuttingProblem:
    """Few enough pieces that every plan can be tried."""
    piece = st.builds(
        Piece, length=st.integers(4, 28), demand=st.integers(1, 3), left=st.booleans(), right=st.sampled_from([False])
    )
    pieces = draw(st.lists(piece, min_size=1, max_size=most, unique_by=lambda p: (p.length, p.left)))
    if draw(st.integers(0, 5)) == 0:
        pieces.append(Piece(30, 1, left=True, right=True))
    return CuttingProblem(
        draw(_sticks()),
        tuple(pieces),
        kerf=draw(st.sampled_from([0, 0, 1])),
        keep_from=draw(st.sampled_from([0, 6, 40])),
    )


tidy_module = sys.modules[tidy.__module__]


def _watch() -> Watch:
    return Watch(time.monotonic, time.monotonic() + 60)


def _fits(problem: CuttingProblem, pattern: Pattern) -> bool:
    """Whether a stick holds these pieces, from the problem's docstring alone."""
    stick, held = problem.sticks[pattern.stick], [problem.pieces[i] for i in pattern.pieces]
    if any(piece.left and piece.right for piece in held):
        return len(held) == 1 and held[0].length == stick.length and stick.left and stick.right
    return (
        sum(piece.length for piece in held) + problem.kerf * (len(held) - 1) <= stick.length
        and sum(piece.left for piece in held) <= stick.left
        and sum(piece.right for piece in held) <= stick.right
    )


def _patterns(problem: CuttingProblem, stick: int, rest: Sequence[int], start: int = 0) -> Iterator[tuple[int, ...]]:
    """Yield every multiset of pieces, from ``rest`` of them, that one stick holds."""
    for i in range(start, len(rest)):
        if rest[i] and _fits(problem, Pattern(stick, (i,))):
            fewer = [n - (j == i) for j, n in enumerate(rest)]
            yield (i,)
            for tail in _patterns(problem, stick, fewer, i):
                if _fits(problem, Pattern(stick, (i, *tail))):
                    yield (i, *tail)


def _plans(problem: CuttingProblem, rest: list[int], left: list[int | None], cost: int) -> Iterator[list[Pattern]]:
    """Yield every way to cut ``rest`` with what is left of sticks and money, the first piece wanted first."""
    first = next((i for i, n in enumerate(rest) if n), None)
    if first is None:
        yield []
        return
    for k, stick in enumerate(problem.sticks):
        if left[k] == 0 or stick.cost > cost:
            continue
        for pieces in _patterns(problem, k, rest):
            if pieces[0] == first:
                after = [n - pieces.count(i) for i, n in enumerate(rest)]
                fewer = [n - 1 if j == k and n is not None else n for j, n in enumerate(left)]
                for tail in _plans(problem, after, fewer, cost - stick.cost):
                    yield [Pattern(k, pieces), *tail]


def _uses(patterns: Sequence[Pattern]) -> Uses:
    return tuple((pattern, patterns.count(pattern)) for pattern in sorted(set(patterns)))


def _tidiest(problem: CuttingProblem, cost: int) -> Tidiness:
    demand, limits = [piece.demand for piece in problem.pieces], [stick.limit for stick in problem.sticks]
    return min(tidiness(problem, _uses(plan)) for plan in _plans(problem, demand, limits, cost))


def _sound(problem: CuttingProblem, before: Cutting, after: Cutting) -> bool:
    """Whether a plan fits its sticks, cuts exactly what is wanted, keeps the limits and costs no more."""
    made = [sum(p.pieces.count(i) * n for p, n in after.uses) for i in range(len(problem.pieces))]
    used = [sum(n for p, n in after.uses if p.stick == k) for k in range(len(problem.sticks))]
    return (
        all(_fits(problem, pattern) and list(pattern.pieces) == sorted(pattern.pieces) for pattern, _ in after.uses)
        and made == [piece.demand - n for piece, n in zip(problem.pieces, before.uncut, strict=True)]
        and all(s.limit is None or n <= s.limit for s, n in zip(problem.sticks, used, strict=True))
        and after.cost == sum(problem.sticks[p.stick].cost * n for p, n in after.uses)
        and after.cost <= before.cost
        and (after.uncut, after.bound, after.proof) == (before.uncut, before.bound, before.proof)
    )


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems())
def test_tidied_is_the_tidiest_of_all(problem: CuttingProblem) -> None:
    """No plan of that cost has less scrap, or as little and fewer offcuts, or patterns, or cuts; and it says so."""
    cutting = solve(problem, _watch())
    best = tidied(problem, cutting, _watch())
    assert tidiness(problem, best.uses) == _tidiest(problem, cutting.cost)
    assert all(best.least.values())


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems(most=7))
def test_tidied_is_sound_and_never_less_tidy(problem: CuttingProblem) -> None:
    """Whatever comes in, what comes out is a plan of the same pieces at no more cost, and no less tidy."""
    before = solve(problem, _watch())
    after = tidy(problem, before, _watch())
    assert _sound(problem, before, after)
    assert tidiness(problem, after.uses) <= tidiness(problem, before.uses)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems())
def test_generated_pool_is_as_good_as_all_patterns(problem: CuttingProblem) -> None:
    """Where patterns are generated because there are too many to list, the tidiest plan is found all the same."""
    cutting = solve(problem, _watch())
    generated = gather._generated(problem, cutting.uses, _watch())
    best = tidiest(generated.pool, generated.uses, _watch())
    assert tidiness(problem, best.uses) == _tidiest(problem, cutting.cost)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems(most=9), st.integers(1, 4))
def test_parts_put_together_are_sound_and_no_less_tidy(problem: CuttingProblem, size: int) -> None:
    """Tidied a few patterns at a time, as very long lists are, the plan still cuts the same and is no less tidy."""
    before = solve(problem, _watch())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tidy_module, "PATTERNS", size)
        patch.setattr(tidy_module, "MOST_KINDS", 0)
        after = tidy(problem, before, _watch())
    assert _sound(problem, before, after)
    assert tidiness(problem, after.uses) <= tidiness(problem, before.uses)
