"""Bounds and proofs of small jobs held against an integer program of the whole, by another solver.

Every kind of end, one or two stock lengths, an offcut or none, runs with rules of placement and without.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import plan_laps
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets
from solver.watch import Watch
from tests.support.lap_plans import complaints
from tests.support.lap_program import fewest_broken_and_least_cost

SECONDS = 20.0
"""What the other solver may take; no job here takes it a tenth of that."""


def drawn(seed: int) -> LapProblem:
    """Return job number ``seed``: sorts come in turn."""
    dice = Random(seed)
    ends, ruled = list(LapEnds)[seed % 3], seed // 6 % 2 == 1
    lap, end_gap = dice.choice((0, 1, 1, 2)), dice.randint(0, 1)
    lengths = dice.sample(range(6, 12), 1 + seed // 3 % 2)
    sticks = [
        LapStick(
            length=n,
            cost=dice.randint(n - 1, n + 2),
            limit=None,
            left=True,
            right=True,
            lap=lap,
            end_gap=end_gap,
        )
        for n in lengths
    ]
    if dice.random() < 0.4:
        left, right = dice.random() < 0.6, dice.random() < 0.6
        sticks.append(
            LapStick(length=dice.randint(3, 6), cost=0, limit=1, left=left, right=right, lap=lap, end_gap=end_gap)
        )
    return LapProblem(
        sticks=tuple(sticks),
        pieces=tuple(_pieces(dice, max(lengths), factory=ends is LapEnds.FACTORY)),
        runs=tuple(_run(dice, n, max(lengths), ruled=ruled) for n in range(dice.randint(1, 2))),
        rules=_rules(dice, ends, ruled=ruled),
        kerf=dice.randint(0, 1),
    )


def _run(dice: Random, number: int, longest: int, *, ruled: bool) -> LapRun:
    outer = [dice.choice(list(Meets)), dice.choice((Meets.PLAIN, Meets.CHANNEL))]
    dice.shuffle(outer)
    return LapRun(
        item=number,
        length=dice.randint(longest + 1, 2 * longest),
        left=outer[0],
        right=outer[1],
        wall="north" if ruled else None,
        course=number + 1,
        start=dice.randint(0, 2),
        keep_clear=((4, 7),) if ruled and dice.random() < 0.3 else (),
    )


def _pieces(dice: Random, longest: int, *, factory: bool) -> Iterator[Piece]:
    for _ in range(dice.randint(0, 2)):
        end = dice.choice((None, None, None, "left", "right")) if factory else None
        yield Piece(dice.randint(2, longest), dice.randint(1, 2), end == "left", end == "right")


def _rules(dice: Random, ends: LapEnds, *, ruled: bool) -> LapRules:
    extra_laps = dice.choice((0, 0, 1))
    if not ruled:
        return LapRules(ends=ends, extra_laps=extra_laps)
    return LapRules(
        ends=ends,
        shortest=dice.choice((0, 2, 3)),
        spacing=dice.choice((0, 2, 4)),
        repeat=dice.choice((0, 2)),
        in_line_within=dice.choice((1, 2)),
        extra_laps=extra_laps,
    )


@pytest.mark.parametrize("seed", range(36))
def test_no_bound_goes_beyond_the_cheapest_plan_that_breaks_fewest_rules(seed: int) -> None:
    """And what is called proven is a cheapest plan that breaks fewest rules."""
    problem = drawn(seed)
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    best = fewest_broken_and_least_cost(problem, plan.cost, SECONDS)
    if best is None or plan.uncut_runs:
        pytest.skip("the other solver did not come to an end")
    broken, cost = best
    assert len(plan.breaches) >= broken
    if len(plan.breaches) == broken:
        assert plan.bound <= cost
        assert not plan.proven or plan.cost == cost
