"""Plans of runs held against every plan there is, on problems small enough to try them all."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import plan_laps
from solver.laps.problem import LapPlan, LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets
from solver.watch import Watch
from tests.support.lap_plans import complaints, most_parts

Cut = tuple[int, bool, bool]
"""A piece: its length, and whether it carries the left and the right factory end."""

LONGEST = 9


@st.composite
def problems(draw: st.DrawFn) -> LapProblem:
    """Draw one or two stick lengths, up to three runs on one wall or none, and a few pieces."""
    lap = draw(st.integers(0, 1))
    lengths = draw(st.lists(st.integers(6, LONGEST), min_size=1, max_size=2, unique=True))
    sticks = tuple(
        LapStick(length=n, cost=draw(st.integers(n - 1, n + 1)), limit=None, left=True, right=True, lap=lap, end_gap=0)
        for n in lengths
    )
    wall = draw(st.sampled_from([None, "north"]))
    runs = tuple(
        LapRun(
            item=n,
            length=draw(st.integers(max(lengths) + 1, 2 * max(lengths))),
            left=Meets.PLAIN,
            right=Meets.PLAIN,
            wall=wall,
            course=n + 1,
            keep_clear=draw(st.sampled_from([(), ((4, 7),)])),
        )
        for n in range(draw(st.integers(1, 2)))
    )
    pieces = tuple(Piece(n, 1) for n in draw(st.lists(st.integers(1, 5), max_size=2, unique=True)))
    rules = LapRules(
        ends=draw(st.sampled_from([LapEnds.FACTORY, LapEnds.FACTORY, LapEnds.ANY])),
        shortest=draw(st.sampled_from([0, 2])),
        spacing=draw(st.sampled_from([0, 2, 4])),
        repeat=draw(st.sampled_from([0, 2])),
        in_line_within=1,
        extra_laps=draw(st.sampled_from([0, 1, 1])),
        lap_price=draw(st.sampled_from([0, 0, 1, 3, 8])),
    )
    return LapProblem(sticks=sticks, pieces=pieces, runs=runs, rules=rules, kerf=draw(st.integers(0, 1)))


@settings(max_examples=60, deadline=None)
@given(problems())
def test_rules_come_first_then_cost_then_laps(problem: LapProblem) -> None:
    """The plan is sound, its bound holds for every plan, and it is as good as the best of all on whole positions.

    Laps may have a price, which then counts with the cost: a stick is saved by laps that come to less alone.
    """
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    broken, objective, laps, cheapest = best_of_all(problem)
    assert len(plan.breaches) == broken
    assert plan.bound <= cheapest
    found = sum(len(cover.laps_at) for cover in plan.covers)
    assert (plan.cost + problem.rules.lap_price * found, found) == (objective, laps)


@pytest.mark.parametrize("seed", range(3))
def test_every_stage_of_a_wall_keeps_its_word(seed: int) -> None:
    """Twelve courses of one wall with pieces beside: sound at any hour the watch stops."""
    runs = tuple(LapRun(item=n, length=190 + seed, wall="north", course=n, start=7 * seed) for n in range(1, 13))
    stick = LapStick(length=100, cost=100, limit=None, left=True, right=True, lap=1, end_gap=0)
    rules = LapRules(ends=LapEnds.FACTORY, shortest=16, spacing=8, repeat=3, in_line_within=2)
    problem = LapProblem(sticks=(stick,), pieces=(Piece(30, 9), Piece(17, 5)), runs=runs, rules=rules)
    for looks in (1, 40, 400):
        assert complaints(problem, stopped_after(problem, looks)) == []


def stopped_after(problem: LapProblem, looks: int) -> LapPlan:
    """Return the plan when time is up after the clock was read so often."""
    hours = iter(range(looks))
    return plan_laps(problem, Watch(lambda: float(next(hours, looks)), looks - 1.0))


def best_of_all(problem: LapProblem) -> tuple[int, int, int, int]:
    """Return the fewest broken rules, of plans that break as few the least cost, and of those the fewest laps.

    The price of laps counts as cost. The last is the least that sticks cost in plans that break as few.
    """
    best, cheapest = (10**9, 10**9, 10**9), (10**9, 10**9)
    plain = tuple((piece.length, False, False) for piece in problem.pieces for _ in range(piece.demand))
    for splits in product(*(list(every_split(problem, run)) for run in problem.runs)):
        broken = broken_rules(problem, splits)
        if broken <= best[0]:
            cost = least_cost(problem, tuple(sorted((*plain, *(cut for _, cuts in splits for cut in cuts)))))
            laps = sum(len(places) for places, _ in splits)
            best = min(best, (broken, cost + problem.rules.lap_price * laps, laps))
            cheapest = min(cheapest, (broken, cost))
    return *best, cheapest[1]


def every_split(problem: LapProblem, run: LapRun) -> Iterator[tuple[tuple[int, ...], tuple[Cut, ...]]]:
    """Yield where the laps lie and the pieces, for every split into as many pieces as are allowed."""
    lap, factory = problem.sticks[0].lap, problem.rules.ends is LapEnds.FACTORY
    lengths = sorted({stick.length for stick in problem.sticks})
    for parts in range(2, most_parts(problem, run) + 1):
        for cuts in sums(run.length + lap * (parts - 1), parts, lengths[-1]):
            if factory and not all(cut in lengths for cut in cuts[1:-1]):
                continue
            places = tuple(sum(cuts[:n]) - n * lap for n in range(1, parts))
            ends = [(factory and n > 0, factory and n < parts - 1) for n in range(parts)]
            yield places, tuple((cut, *end) for cut, end in zip(cuts, ends, strict=True))


def sums(total: int, parts: int, most: int) -> Iterator[tuple[int, ...]]:
    """Yield every row of so many lengths, none above ``most``, that add up."""
    if parts == 1:
        if 0 < total <= most:
            yield (total,)
        return
    for first in range(1, min(most, total - 1) + 1):
        yield from ((first, *rest) for rest in sums(total - first, parts - 1, most))


def broken_rules(problem: LapProblem, splits: tuple[tuple[tuple[int, ...], tuple[Cut, ...]], ...]) -> int:
    """Count broken rules: short pieces, laps over what is kept clear, laps of two courses too near or in line."""
    rules, lap, count = problem.rules, problem.sticks[0].lap, 0
    for run, (places, cuts) in zip(problem.runs, splits, strict=True):
        count += sum(cut[0] < rules.shortest for cut in cuts)
        count += sum(any(p < end and start < p + lap for start, end in run.keep_clear) for p in places)
    if len(splits) == 2 and problem.runs[0].wall:
        gaps = [abs(one - other) for one in splits[0][0] for other in splits[1][0]]
        count += sum(gap < rules.spacing for gap in gaps)
        count += sum(gap < rules.in_line_within for gap in gaps) if rules.repeat else 0
    return count


def least_cost(problem: LapProblem, cuts: tuple[Cut, ...]) -> int:
    """Return the least that sticks for these pieces cost, trying every way to share them out."""

    @cache
    def cheapest(left: tuple[Cut, ...]) -> int:
        if not left:
            return 0
        first, others = left[0], left[1:]
        best = 10**9
        for chosen in product((False, True), repeat=len(others)):
            together = (first, *(cut for cut, take in zip(others, chosen, strict=True) if take))
            cost = min((stick.cost for stick in problem.sticks if holds(problem, stick, together)), default=None)
            if cost is not None:
                rest = tuple(cut for cut, take in zip(others, chosen, strict=True) if not take)
                best = min(best, cost + cheapest(rest))
        return best

    return cheapest(cuts)


def holds(problem: LapProblem, stick: LapStick, cuts: tuple[Cut, ...]) -> bool:
    """Whether the pieces come out of one stick."""
    if sum(cut[0] for cut in cuts) + problem.kerf * (len(cuts) - 1) > stick.length:
        return False
    if any(left and right for _, left, right in cuts):
        return len(cuts) == 1 and cuts[0][0] == stick.length
    return sum(cut[1] for cut in cuts) <= 1 and sum(cut[2] for cut in cuts) <= 1
