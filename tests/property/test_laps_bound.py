"""The bound of runs held against every plan there is, cut middle pieces too, where no rule of placement counts."""

from __future__ import annotations

from dataclasses import replace
from math import floor

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from solver.buying.terms import Sold, Terms, Tier
from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import plan_laps
from solver.laps.problem import LapPlan, LapProblem, LapRules, LapRun, LapStick
from solver.required import Meets
from solver.watch import Watch
from tests.support.lap_optimum import least_cost
from tests.support.lap_plans import complaints


@st.composite
def problems(draw: st.DrawFn) -> LapProblem:
    """Draw one or two stick lengths with laps of their own, an offcut or none, one or two runs and a few pieces."""
    lengths = draw(st.lists(st.integers(4, 7), min_size=1, max_size=2, unique=True))
    lap, end_gap, own = draw(st.integers(0, 2)), draw(st.integers(0, 1)), draw(st.booleans())
    priced = draw(st.booleans())
    sticks = tuple(
        LapStick(
            length=length,
            cost=draw(st.integers(length - 1, length + 2)) if priced else length,
            limit=draw(st.sampled_from((None, None, 2))) if length < max(lengths) else None,
            left=True,
            right=True,
            lap=draw(st.integers(0, 2)) if own else lap,
            end_gap=draw(st.integers(0, 1)) if own else end_gap,
        )
        for length in lengths
    )
    offcuts = draw(st.lists(st.tuples(st.integers(3, 9), st.booleans(), st.booleans()), max_size=1))
    on_hand = [
        LapStick(length=length, cost=0, limit=1, left=left, right=right, lap=lap, end_gap=end_gap)
        for length, left, right in offcuts
    ]
    outer = st.sampled_from(list(Meets))
    runs = tuple(
        LapRun(
            item=n, length=draw(st.integers(max(lengths) - 1, 2 * max(lengths))), left=draw(outer), right=draw(outer)
        )
        for n in range(1 if len(lengths) > 1 or on_hand else draw(st.integers(1, 2)))
    )
    pieces = tuple(Piece(n, draw(st.integers(1, 3))) for n in draw(st.lists(st.integers(2, max(lengths)), max_size=1)))
    ends = draw(st.sampled_from((LapEnds.FACTORY, LapEnds.RENOTCHED, LapEnds.ANY, LapEnds.ANY)))
    return LapProblem(
        sticks=(*sticks, *on_hand),
        pieces=pieces,
        runs=runs,
        rules=LapRules(ends=ends, extra_laps=draw(st.integers(0, 3))),
        kerf=draw(st.integers(0, 1)),
    )


def planned(problem: LapProblem) -> LapPlan:
    """Return the plan, held against the problem piece by piece."""
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    return plan


@st.composite
def billed_problems(draw: st.DrawFn) -> LapProblem:
    """Draw a run and a piece of lengths sold by the carton, some beside singles, at up to one break, some at a fee."""
    problem = draw(problems())
    pieces, rules = tuple(replace(piece, demand=1) for piece in problem.pieces), replace(problem.rules, extra_laps=1)
    problem = replace(problem, runs=problem.runs[:1], pieces=pieces, rules=rules)
    sold = [draw(_sold(stick)) for stick in problem.sticks if stick.cost]
    lowest = (replace(s, cost=floor(way.each), limit=way.most) for s, way in zip(problem.sticks, sold, strict=False))
    return replace(problem, sticks=(*lowest, *problem.sticks[len(sold) :]), terms=Terms(tuple(sold)))


@st.composite
def _sold(draw: st.DrawFn, stick: LapStick) -> Sold:
    size, singles = draw(st.integers(1, 3)), draw(st.booleans())
    tiers = [Tier(0, stick.cost if singles else None, stick.cost * size - draw(st.integers(0, 2)))]
    for at in draw(st.sampled_from(((), (), (2,), (3,)))):
        before = tiers[-1]
        tiers.append(Tier(at, max(1, stick.cost - 1) if singles else None, max(size, before.carton - size)))
    return Sold(tuple(tiers), size, draw(st.sampled_from((0, 0, 3))), stick.limit, together=False)


@settings(deadline=None, max_examples=8, suppress_health_check=(HealthCheck.too_slow,))
@given(billed_problems())
def test_no_bill_is_lower_than_its_bound(problem: LapProblem) -> None:
    """What is bought of each length counts, by every purchase there is."""
    plan = planned(problem)
    assert plan.bound <= least_cost(problem, plan.cost)


@settings(deadline=None, max_examples=12, suppress_health_check=(HealthCheck.too_slow,))
@given(problems())
def test_no_plan_costs_less_than_the_bound(problem: LapProblem) -> None:
    """Nor more than the plan that was found; so what is called proven is a best one."""
    plan = planned(problem)
    assert plan.bound <= least_cost(problem, plan.cost)
