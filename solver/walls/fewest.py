"""What a plan of the fewest laps takes more, or which rules it breaks, where the plan has more laps than that.

Such a plan is sought besides, in one round and within a share of the time: what it takes is at most that, and where
its cost is proven just that. Where it turns out better than the plan itself, it is the plan.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from solver.assignment import Filled
from solver.demand import Demand
from solver.laps import plan_laps
from solver.laps.problem import LapPlan, LapProblem
from solver.laps.templates import most_parts
from solver.plan import FewestLaps, StoppedBy
from solver.rules import BreachCode
from solver.walls.runs import lap_problem_of, written
from solver.watch import Watch

FOR_FEWEST = 0.1
"""The share of the time that is kept for it."""


def cover_and_compare(demand: Demand, watch: Watch) -> Filled:
    """Plan a material's runs and pieces together, and say what the fewest laps would take in place of its own."""
    problem = lap_problem_of(demand)
    if not problem.rules.extra_laps:
        return written(demand, problem, plan_laps(problem, watch))
    plan = plan_laps(problem, watch.within(watch.left * (1 - FOR_FEWEST)))
    few = replace(problem, rules=replace(problem.rules, extra_laps=0))
    if all(len(cover.kinds) <= most_parts(few, problem.runs[cover.run]) for cover in plan.covers):
        return written(demand, problem, plan)
    other = plan_laps(few, watch.quiet(), draft=True)
    if _standing(few, other) < _standing(few, plan):
        other = min(other, plan_laps(few, watch.quiet()), key=lambda each: _standing(few, each))
        bound = min(plan.bound, other.cost)
        better = replace(other, bound=bound, proof=plan.proof, least_uncut=plan.least_uncut, stopped=plan.stopped)
        return written(demand, problem, better)
    return replace(written(demand, problem, plan), fewest=_told(demand, few, plan, other, watch))


def _standing(problem: LapProblem, plan: LapPlan) -> tuple[int, int, int, int]:
    """Return how good a plan is, the less the better: what is uncut, rules broken, what it costs, laps."""
    objective = plan.cost + problem.rules.lap_price * plan.lap_count
    return _uncut(plan), len(plan.breaches), objective, plan.lap_count


def _uncut(plan: LapPlan) -> int:
    return sum(plan.uncut) + len(plan.uncut_runs)


def _told(demand: Demand, few: LapProblem, plan: LapPlan, other: LapPlan, watch: Watch) -> FewestLaps:
    stopped = StoppedBy.of(proven=other.proven, exhausted=not other.stopped, cancelled=watch.cancelled())
    if _uncut(other):
        laps = sum(most_parts(few, few.runs[cover.run]) - 1 for cover in plan.covers)
        return FewestLaps(laps=laps, stopped_by=stopped)
    sticks = sum(demand.sources[stick.stick].stock is not None for stick in other.sticks)
    return FewestLaps(
        laps=other.lap_count, sticks=sticks, cost=other.cost, broken=len(other.breaches), stopped_by=stopped
    )


def fewest_of_all(found: Sequence[Filled]) -> FewestLaps | None:
    """Return what parts of a material planned by themselves would take with the fewest laps, all together."""
    if not any(each.fewest for each in found):
        return None
    parts = [each.fewest or _own(each) for each in found]
    reasons = [part.stopped_by for part in parts]
    stopped_by = max(reasons, key=list(StoppedBy).index)
    laps = sum(part.laps for part in parts)
    if any(part.cost is None for part in parts):
        return FewestLaps(laps=laps, stopped_by=stopped_by)
    return FewestLaps(
        laps=laps,
        sticks=sum(part.sticks or 0 for part in parts),
        cost=sum(part.cost or 0 for part in parts),
        broken=sum(part.broken or 0 for part in parts),
        stopped_by=stopped_by,
    )


def _own(filled: Filled) -> FewestLaps:
    proven = filled.least_uncut and filled.cost == filled.bound
    return FewestLaps(
        laps=sum(len(cover.laps_at) for cover in filled.covers),
        sticks=filled.bought,
        cost=filled.cost,
        broken=sum(notice.code in list(BreachCode) for notice in filled.notices),
        stopped_by=StoppedBy.of(proven=proven, exhausted=filled.exhausted, cancelled=False),
    )
