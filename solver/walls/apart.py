"""Walls kept to themselves: no stick gives pieces to two of them, and what that takes more is said.

Each wall is a problem of its own, and what is on no wall is one more. The job is planned as one besides, for the
difference is the price.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from solver.assignment import Filled
from solver.buying.billing import billed, on_terms
from solver.categories import PanelsServe
from solver.demand import Demand, demand_of
from solver.job import Notice
from solver.laps.problem import Cover, LapRun
from solver.proof import Proof
from solver.walls.appearance import pieces_aside
from solver.walls.fewest import fewest_of_all
from solver.watch import Watch

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
    bound = max(filled.bound, together.bound) if whole else filled.bound
    return replace(filled, notices=notices, bound=bound)


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
