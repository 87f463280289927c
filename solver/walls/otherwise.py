"""A house's walls planned otherwise, and what that takes more: each wall by itself, or with the fewest laps.

Walls kept to themselves: no stick gives pieces to two of them. Each wall is a problem of its own, and what is on no
wall is one more. The job is planned as one besides, for the difference is the price.

A plan of the fewest laps is sought besides where the plan has more laps than that, in one round and within a share of
the time: what it takes is at most that, and where its cost is proven just that. It is sought to the last stick, and
bettered for its looks, only where it might be better than the plan itself; where it is, it is the plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from solver.assignment import Filled
from solver.buying.billing import billed, cut_cost, on_terms
from solver.categories import PanelsServe
from solver.demand import Demand, demand_of
from solver.job import Notice
from solver.laps import plan_laps
from solver.laps.problem import Cover, LapPlan, LapProblem, LapRun
from solver.laps.templates import most_parts
from solver.plan import FewestLaps, StoppedBy
from solver.proof import Proof
from solver.runs import BreachCode
from solver.walls.appearance import pieces_aside
from solver.walls.runs import lap_problem_of, written
from solver.watch import Watch

FOR_FEWEST, FOR_WRITING = 0.1, 0.03
"""The shares of the time that are kept for it, and for writing plans out and checking them."""


def cover_and_compare(demand: Demand, watch: Watch) -> Filled:
    """Plan a material's runs and pieces together, and say what the fewest laps would take in place of its own."""
    problem, watch = lap_problem_of(demand), watch.within(watch.left * (1 - FOR_WRITING))
    if not problem.rules.extra_laps:
        return written(demand, problem, plan_laps(problem, watch))
    plan = plan_laps(problem, watch.within(watch.left * (1 - FOR_FEWEST)))
    few = replace(problem, rules=replace(problem.rules, extra_laps=0))
    if all(len(cover.kinds) <= most_parts(few, problem.runs[cover.run]) for cover in plan.covers):
        return written(demand, problem, plan)
    if watch.stopped:
        return replace(written(demand, problem, plan), fewest=_told(demand, few, plan, None, watch))
    other = plan_laps(few, watch.quiet(), beside=_standing(demand, few, plan)[1:3])
    if _standing(demand, few, other) < _standing(demand, few, plan):
        better = replace(other, proof=plan.proof, least_broken=plan.least_broken, stopped=plan.stopped)
        return written(demand, problem, better.bounded(plan.bound))
    return replace(written(demand, problem, plan), fewest=_told(demand, few, plan, other, watch))


def _standing(demand: Demand, problem: LapProblem, plan: LapPlan) -> tuple[int, int, int, int]:
    """Return how good a plan is, the less the better: what is uncut, rules broken, what it costs, laps."""
    objective = _cost(demand, problem, plan) + problem.rules.lap_price * plan.lap_count
    return _uncut(plan), len(plan.breaches), objective, plan.lap_count


def _cost(demand: Demand, problem: LapProblem, plan: LapPlan) -> int:
    """Return what a plan costs with what cutting it counts."""
    return plan.cost + (cut_cost(demand, written(demand, problem, plan)) if on_terms(demand) else 0)


def _uncut(plan: LapPlan) -> int:
    return sum(plan.uncut) + len(plan.uncut_runs)


def _told(demand: Demand, few: LapProblem, plan: LapPlan, other: LapPlan | None, watch: Watch) -> FewestLaps:
    """Return what the fewest laps take by the ``other`` plan; by none where there was no time for one."""
    if other is None or _uncut(other):
        laps = sum(most_parts(few, few.runs[cover.run]) - 1 for cover in plan.covers)
        ended = other is not None and not other.stopped
        stopped = StoppedBy.of(proven=False, exhausted=ended, cancelled=watch.cancelled())
        return FewestLaps(laps=laps, stopped_by=stopped)
    cost = _cost(demand, few, other)
    proven = other.least_uncut and cost == other.bound
    stopped = StoppedBy.of(proven=proven, exhausted=not other.stopped, cancelled=watch.cancelled())
    sticks = sum(demand.sources[stick.stick].stock is not None for stick in other.sticks)
    return FewestLaps(laps=other.lap_count, sticks=sticks, cost=cost, broken=len(other.breaches), stopped_by=stopped)


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
        broken=_broken(filled),
        stopped_by=StoppedBy.of(proven=proven, exhausted=filled.exhausted, cancelled=False),
    )


Planner = Callable[[Demand, Watch], Filled]

FOR_THE_JOB = 0.5
"""The share of the time in which the job is planned as one."""


def planned_by_settings(demand: Demand, watch: Watch, plan: Planner) -> Filled:
    """Plan a material as one, or wall by wall where its settings ask for that or leave no other way."""
    settings = demand.material.settings
    walls = _by_wall(demand)
    limit = settings.most_put_aside
    apart = settings.panels_serve is PanelsServe.WALL
    if len(walls) < 2 or not (apart or limit is not None):
        filled = plan(demand, watch)
        return replace(filled, notices=(*filled.notices, *_too_many(demand, filled)))
    together = plan(demand, watch.within(watch.left * FOR_THE_JOB))
    if not apart and limit is not None and _put_aside(demand, together) <= limit:
        return together
    filled = _apart(demand, walls, watch, plan)
    notices = (*filled.notices, _price(demand, filled, together), *_too_many(demand, filled))
    whole = filled.least_uncut and together.least_uncut and not (filled.not_cut or together.not_cut)
    # What no plan costs less than that breaks as few rules as can be says nothing of one that may break more.
    fewest = not _broken(filled) or (_broken(filled) <= _broken(together) and together.cost == together.bound)
    comparable = whole and fewest
    bound = max(filled.bound, together.bound) if comparable else filled.bound
    return replace(filled, notices=notices, bound=bound)


def _broken(filled: Filled) -> int:
    return sum(notice.code in list(BreachCode) for notice in filled.notices)


def _by_wall(demand: Demand) -> list[list[int]]:
    """Return the items of each wall, and those of none."""
    items = [n for n, item in enumerate(demand.job.required) if item.material == demand.material.id]
    walls: dict[str | None, list[int]] = {}
    for item in items:
        walls.setdefault(demand.job.required[item].wall, []).append(item)
    return list(walls.values())


def _apart(demand: Demand, walls: Sequence[Sequence[int]], watch: Watch, plan: Planner) -> Filled:
    """Plan wall by wall, each from what the others have left."""
    used: Counter[object] = Counter()
    found: list[Filled] = []
    for waiting, items in zip(range(len(walls), 0, -1), walls, strict=True):
        own = demand_of(demand.job, demand.material, items)
        sources = tuple(
            s if s.stick.limit is None else replace(s, stick=replace(s.stick, limit=s.stick.limit - used[s.row.id]))
            for s in own.sources
        )
        filled = plan(replace(own, sources=sources), watch.within(watch.left / waiting).quiet())
        used.update(stick.source.row.id for stick in filled.sticks)
        found.append(filled)
    shared = on_terms(demand) or any(s.stick.limit is not None for s in demand.sources)
    return billed(demand, _merged(found, shared=shared))


def _merged(found: Sequence[Filled], *, shared: bool) -> Filled:
    """Return the walls' plans as one. Where limits or cartons are shared, how that is done is not proven to be best."""
    runs, covers = _in_order(found)
    least_uncut = all(each.least_uncut for each in found) and not (shared and any(each.not_cut for each in found))
    return Filled(
        sticks=tuple(stick for each in found for stick in each.sticks),
        cost=sum(each.cost for each in found),
        bound=sum(each.bound for each in found) if least_uncut and not shared else 0,
        least_uncut=least_uncut,
        proof=Proof("search", text="each wall planned by itself, and what is on none: the sum of their bounds"),
        not_cut=tuple(sorted((entry for each in found for entry in each.not_cut), key=lambda entry: entry.item)),
        notices=tuple(notice for each in found for notice in each.notices),
        runs=runs,
        covers=covers,
        fewest=fewest_of_all(found),
        exhausted=all(each.exhausted for each in found),
    )


def _in_order(found: Sequence[Filled]) -> tuple[tuple[LapRun, ...], tuple[Cover, ...]]:
    """Return all runs in the order of the request, and the covers that name them."""
    runs = [(run, wall, number) for wall, each in enumerate(found) for number, run in enumerate(each.runs)]
    runs.sort(key=lambda entry: (entry[0].item, entry[0].course or 0, entry[0].copy))
    places = {(wall, number): place for place, (_, wall, number) in enumerate(runs)}
    covers = (replace(cover, run=places[wall, cover.run]) for wall, each in enumerate(found) for cover in each.covers)
    return tuple(run for run, _, _ in runs), tuple(sorted(covers, key=lambda cover: cover.run))


def _put_aside(demand: Demand, filled: Filled) -> int:
    return pieces_aside(demand.job, ([whose for _, whose in stick.cuts] for stick in filled.sticks))[0]


def _price(demand: Demand, apart: Filled, together: Filled) -> Notice:
    """Say what keeping walls to themselves takes more, beside the plan of the job as one."""
    material = demand.material
    sticks, other = apart.bought, together.bought
    noun = material.category.kind.noun
    more = sticks - other
    words = f"{more} {noun(more)} more" if more > 0 else f"{-more} {noun(-more)} fewer" if more < 0 else "as many"
    aside = f"put aside at once: {_put_aside(demand, apart)} in place of {_put_aside(demand, together)}"
    detail = f"{material.id}: each wall kept to itself takes {sticks} {noun(sticks)}, {words} than the {other} of the "
    return Notice("walls_apart", f"{detail}job planned as one; {aside}", material=material.id)


def _too_many(demand: Demand, filled: Filled) -> Iterator[Notice]:
    limit, found = demand.material.settings.most_put_aside, _put_aside(demand, filled)
    if limit is not None and found > limit:
        detail = f"{demand.material.id}: {found} pieces are put aside at once; {limit} were asked for"
        yield Notice("put_aside", detail, material=demand.material.id)
