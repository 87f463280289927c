"""Broken rules that can't be helped: three courses of 15 out of tens, with a lap from 5 to 10, to be 6 apart."""

from __future__ import annotations

from dataclasses import replace

from solver.laps.begin import lay_anew
from solver.laps.prices import PriceList, by_length
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.site import Site, site_of
from solver.laps.unavoidable import Unavoidable, Wall, leeway, unavoidable
from solver.laps.yard import Yard
from solver.materials import LapEnds
from solver.required import Meets
from solver.watch import Watch

PATIENT = Watch(lambda: 0.0, 60.0)
TEN = LapStick(10, 10, None, left=True, right=True, lap=0, end_gap=0)
RUNS = tuple(LapRun(n, 15, Meets.PLAIN, Meets.PLAIN, "north", n + 1) for n in range(3))
PROBLEM = LapProblem((TEN,), (), RUNS, LapRules(LapEnds.FACTORY, spacing=6))


def laid(site: Site) -> Yard:
    """Return some plan."""
    return lay_anew(site, PriceList(site, by_length(site)), 0, 0.0)


def test_both_pairs_of_courses_break_the_rule() -> None:
    """None of it is the fault of one run, so no run is given leeway."""
    site = site_of(PROBLEM)
    found = unavoidable(site, [laid(site)], PATIENT)
    assert found.walls == (Wall((0, 1, 2), 0, 2, 2),)
    assert leeway(site, found, 2, PATIENT) == (0,)


def test_a_plan_that_leaves_runs_uncovered_shows_nothing() -> None:
    """A run that is not laid breaks no rule; it must not pass for one that keeps them."""
    site = site_of(PROBLEM)
    assert unavoidable(site, [Yard(site), laid(site)], PATIENT).broken == 2


def test_where_sticks_are_limited_a_wall_may_have_to_break_more_than_its_fewest() -> None:
    """Two walls that each could do with none, and a plan that breaks one rule: either may be the one to break it."""
    walls = (Wall((0,), 0, 0, 0), Wall((1,), 0, 0, 0))
    runs = tuple(replace(RUNS[0], wall=wall, length=length) for wall, length in (("a", 15), ("b", 16)))
    free = site_of(replace(PROBLEM, runs=runs))
    scarce = site_of(replace(PROBLEM, runs=runs, sticks=(TEN, replace(TEN, length=12, limit=1))))
    assert leeway(free, Unavoidable(walls, ()), 1, PATIENT) == (0, 0)
    assert leeway(scarce, Unavoidable(walls, ()), 1, PATIENT) == (1, 1)
    assert leeway(scarce, Unavoidable(walls, ()), 0, PATIENT) == (0, 0)
