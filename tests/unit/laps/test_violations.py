"""Broken rules that can't be helped: three courses of 15 out of tens, with a lap from 5 to 10, to be 6 apart."""

from __future__ import annotations

from dataclasses import replace

from solver.categories import LapEnds
from solver.laps.bounds.pricing import PriceList, by_length
from solver.laps.improve import lay_anew
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.state import PartialPlan
from solver.laps.violations import Unavoidable, Wall, leeway, unavoidable
from solver.required import Meets
from solver.watch import Watch

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
RUNS = tuple(
    LapRun(item=n, length=15, left=Meets.PLAIN, right=Meets.PLAIN, wall="north", course=n + 1) for n in range(3)
)
PROBLEM = LapProblem(sticks=(TEN,), pieces=(), runs=RUNS, rules=LapRules(ends=LapEnds.FACTORY, spacing=6))


def laid(model: LapModel) -> PartialPlan:
    """Return some plan."""
    return lay_anew(model, PriceList(model, by_length(model)), 0, 0.0)


def test_both_pairs_of_courses_break_the_rule() -> None:
    """None of it is the fault of one run, so no run is given leeway."""
    model = model_of(PROBLEM)
    found = unavoidable(model, [laid(model)], PATIENT)
    assert found.walls == (Wall((0, 1, 2), 0, 2, 2),)
    assert leeway(model, found, 2, PATIENT) == (0,)


def test_once_time_is_up_a_wall_is_known_to_break_only_what_its_runs_must() -> None:
    """It is not examined any more: what the plan breaks may be had for less."""
    model = model_of(PROBLEM)
    found = unavoidable(model, [laid(model)], Watch(lambda: 1.0, 0.0))
    assert found == Unavoidable((Wall((0, 1, 2), 0, 0, 2),), ())


def test_a_plan_that_leaves_runs_uncovered_shows_nothing() -> None:
    """A run that is not laid breaks no rule; it must not pass for one that keeps them."""
    model = model_of(PROBLEM)
    assert unavoidable(model, [PartialPlan(model), laid(model)], PATIENT).broken == 2


def test_where_sticks_are_limited_a_wall_may_have_to_break_more_than_its_fewest() -> None:
    """Two walls that each could do with none, and a plan that breaks one rule: either may be the one to break it."""
    walls = (Wall((0,), 0, 0, 0), Wall((1,), 0, 0, 0))
    runs = tuple(replace(RUNS[0], wall=wall, length=length) for wall, length in (("a", 15), ("b", 16)))
    free = model_of(replace(PROBLEM, runs=runs))
    scarce = model_of(replace(PROBLEM, runs=runs, sticks=(TEN, replace(TEN, length=12, limit=1))))
    assert leeway(free, Unavoidable(walls, ()), 1, PATIENT) == (0, 0)
    assert leeway(scarce, Unavoidable(walls, ()), 1, PATIENT) == (1, 1)
    assert leeway(scarce, Unavoidable(walls, ()), 0, PATIENT) == (0, 0)
