"""What the fewest laps would take, told beside a plan that has more: by hand.

A run of 150 in and four pieces of 60 in out of sticks of 100 in at 10.00: four sticks and three laps of 1 in, or with
one lap six sticks. And six courses of 298 1/2 in between channels, of which panels of 150 in make two pieces with 1 in
of play, so that all laps lie in line: ten pairs of courses break a rule or two.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal
from math import inf

import pytest

from service.views.facts import laps
from solver import plan_job
from solver.demand import demand_of
from solver.job import BelowMinimum, Job, MinimumOrder
from solver.laps import plan_laps
from solver.laps.problem import LapPlan, LapProblem, Standing
from solver.plan import CutPlan, FewestLaps, StoppedBy
from solver.walls import otherwise
from solver.watch import Watch
from tests import scenario
from tests.scenario import N, inches
from tests.support.plans import codes, with_part
from tests.unit.walls.test_lap_price import job

SIX = FewestLaps(laps=1, sticks=6, cost=6, broken=0, stopped_by=StoppedBy.PROOF)


def six_courses() -> Job:
    """Return the six courses in line."""
    item = replace(N, length=inches("298.5"), courses=6, keep_clear=(), cut_outs=())
    return replace(scenario.north_wall(), required=(item,))


def said(asked: Job, plan: CutPlan) -> str:
    """Return what is said of the laps in the last sentence."""
    return laps(asked, plan, plan.materials[0]).rpartition("With the ")[2]


def test_two_laps_fewer_take_two_sticks_more() -> None:
    """Costs count in tens. That is proven, so it is what they take, not what they take at most."""
    plan = plan_job(asked := job("0"), time.monotonic)
    assert plan.materials[0].fewest == SIX
    assert said(asked, plan) == "fewest laps, 1 in place of 3, it takes 2 panels more and 20.00 more."


def test_once_time_is_up_the_fewest_are_not_sought(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock strikes as the first plan is done; the second would take as long again, however late it is."""
    now = [0.0]

    def slow(problem: LapProblem, watch: Watch) -> LapPlan:
        try:
            return plan_laps(problem, watch)
        finally:
            now[0] = 3600.0

    monkeypatch.setattr(otherwise, "plan_laps", slow)
    plan = plan_job(asked := job("0"), lambda: now[0])
    assert plan.materials[0].fewest == FewestLaps(laps=1, stopped_by=StoppedBy.TIME)
    assert said(asked, plan) == "fewest laps, 1 in place of 3, no whole plan was found."


def test_a_plan_of_the_fewest_laps_has_nothing_to_tell() -> None:
    """A lap of 10.00 is worth no stick, so there are no more than must be."""
    plan = plan_job(asked := job("10"), time.monotonic)
    assert plan.materials[0].fewest is None
    assert said(asked, plan) == ""


def test_the_rules_are_told_that_fewer_laps_break() -> None:
    """Twelve panels either way; adjacent courses break two rules, those two and three apart one: 5 * 2 + 4 + 3."""
    plan = plan_job(asked := six_courses(), time.monotonic)
    fewest = plan.materials[0].fewest
    assert plan.warnings == ()
    assert fewest is not None
    assert (fewest.laps, fewest.sticks, fewest.broken) == (6, 12, 17)
    assert said(asked, plan).endswith("takes as many panels and breaks 17 rules more.")


@pytest.mark.parametrize(("least_broken", "proven"), [(0, False), (17, True)])
def test_a_bound_proves_no_plan_that_may_break_too_much(
    monkeypatch: pytest.MonkeyPatch, least_broken: int, *, proven: bool
) -> None:
    """One lap more a run breaks no rule. Here the search for that is cut short with a plan that breaks 18.

    The one of the fewest laps is better and costs what is bound; no rule shows that it must break its 17.
    """

    def cut_short(problem: LapProblem, watch: Watch, *, beside: Standing | None = None) -> LapPlan:
        fewest = replace(problem, rules=replace(problem.rules, extra_laps=0))
        plan = plan_laps(fewest, watch, beside=beside)
        if problem == fewest:
            return plan
        covers = tuple(replace(cover, kinds=(*cover.kinds, 0)) for cover in plan.covers)
        breaches = (*plan.breaches, plan.breaches[0])
        worse = replace(plan, covers=covers, breaches=breaches, cost=plan.cost + 1, least_broken=least_broken)
        return worse.bounded(plan.cost)

    monkeypatch.setattr(otherwise, "plan_laps", cut_short)
    asked = six_courses()
    filled = otherwise.cover_and_compare(demand_of(asked, asked.materials[0], [0]), Watch(time.monotonic, inf))
    assert (len(filled.notices), filled.bound == filled.cost) == (17, proven)


def test_what_cuts_count_is_in_both_plans() -> None:
    """A cut counts 0.50. With one lap a piece of six is a whole stick, so there are five: 60.00 and 2.50."""
    asked = job("0")
    panel = asked.materials[0]
    sawn = replace(panel, settings=replace(panel.settings, cut_price=Decimal("0.50")))
    plan = plan_job(replace(asked, materials=(sawn,)), time.monotonic)
    part = plan.materials[0]
    assert part.reckoning is not None
    assert part.fewest is not None
    assert part.fewest.cost is not None
    assert part.cost * part.cost_step == 40 + part.reckoning.cut_cost
    assert part.fewest.cost * part.cost_step == Decimal("62.50")


def test_nothing_is_told_where_more_is_bought_for_the_order() -> None:
    """Four sticks come to 40.00, and seven to a minimum of 70.00: the six of the fewest laps would be as dear."""
    minimum = MinimumOrder(Decimal(70), BelowMinimum.REFUSED)
    plan = plan_job(replace(job("0"), minimum_order=minimum), time.monotonic)
    part = plan.materials[0]
    assert (part.cost * part.cost_step, part.fewest) == (Decimal(70), None)


@pytest.mark.parametrize(
    "wrong",
    [
        pytest.param(replace(SIX, laps=2), id="more laps than the fewest"),
        pytest.param(replace(SIX, laps=3, cost=7), id="as many as the plan"),
        pytest.param(replace(SIX, cost=4), id="no dearer than the plan"),
    ],
)
def test_what_can_not_be_so_is_refused(wrong: FewestLaps) -> None:
    """The checker has no such plan to look at; it knows how many laps are the fewest, and which plan is better."""
    plan = plan_job(asked := job("0"), time.monotonic)
    assert codes(asked, with_part(plan, fewest=wrong)) == {"fewest_laps"}


def test_where_no_such_plan_is_found_that_is_said() -> None:
    """One stick more is all there is."""
    asked = job("0")
    stock = replace(asked.materials[0].stock[0], available=5)
    short = replace(asked, materials=(replace(asked.materials[0], stock=(stock,)),))
    plan = plan_job(short, time.monotonic)
    assert plan.materials[0].fewest is not None
    assert plan.materials[0].fewest.cost is None
    assert said(short, plan) == "fewest laps, 1 in place of 3, no whole plan was found."
