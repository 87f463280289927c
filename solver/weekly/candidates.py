"""What to choose from: plans for all materials at once, and the patterns in them.

Where a material has few patterns they are listed, and the choice from them is the least there is. Otherwise patterns
come from plans: each day by itself, each job by itself, what was announced, what dives find (``generation``), and
the linear program they begin from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from solver.cutting import Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.day_cutting import DayCutting, Uses
from solver.weekly.generation import Generation
from solver.weekly.joint_bound import joint_bound
from solver.weekly.listing import TooMany, every_pattern
from solver.weekly.material_week import MaterialWeek
from solver.weekly.pool import Pool
from solver.weekly.program import Part, Point
from solver.weekly.remaining import Remaining

LISTED_STEPS = 4_000
"""Steps spent on listing every pattern; where that is not enough they are generated."""
LENGTH_WEIGHT = 0.05
"""What a stick without a price weighs in the linear program beside the dearest that has one: money comes first."""
Plan = list[Uses]
"""How often each pattern is cut, material by material."""


@dataclass(frozen=True, slots=True)
class Candidates:
    """A pool for each material, plans for all of them at once, and whether the van is what keeps them from better.

    The first of ``plans`` carries nothing. ``bound`` is what no plan that cuts all costs less than, in ten-thousandths
    of money; None where none is known.
    """

    pools: tuple[Pool, ...]
    plans: tuple[Plan, ...]
    van_is_tight: bool
    bound: int | None


def candidates(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> Candidates:
    """Return what there is to choose from for these materials, in a van they share."""
    listed = [_listed(week.problem) for week in weeks]
    cutting = [DayCutting(week.problem, watch) for week in weeks]
    plans: list[Plan] = [
        [days.filled({}) for days in cutting],
        [Counter(week.start) for week in weeks],
        _announced(weeks, cutting, van),
    ]
    point = None
    if None in listed:
        known = [_patterns(own, plans, k) for k, own in enumerate(listed)]
        generation = Generation(_parts(weeks), known, van, watch.within(watch.left / 2))
        plans += [[days.filled(uses) for days, uses in zip(cutting, plan, strict=True)] for plan in generation.dives()]
        point = generation.point
    pools = [_pool(week, own, plans, k, point) for k, (week, own) in enumerate(zip(weeks, listed, strict=True))]
    tight = point is not None and any(any(worths.tolls.values()) for worths in point.worths)
    return Candidates(tuple(pools), tuple(plans), tight, joint_bound(weeks, point, van) if point else None)


def _listed(problem: DatedProblem) -> list[Pattern] | None:
    try:
        return every_pattern(problem, LISTED_STEPS)
    except TooMany:
        return None


def _parts(weeks: Sequence[MaterialWeek]) -> list[Part]:
    """Return the problems with weights that make their costs comparable, the dearest stick counting one."""
    priced = [week for week in weeks if week.material.priced]
    dearest = max((week.cost_scale * _dearest(week) for week in priced), default=1)
    length = LENGTH_WEIGHT if priced else 1.0
    return [
        Part(week.problem, week.cost_scale / dearest if week.material.priced else length / _dearest(week))
        for week in weeks
    ]


def _dearest(week: MaterialWeek) -> int:
    return max(1, *(supply.cost for supply in week.problem.supplies))


def _announced(weeks: Sequence[MaterialWeek], cutting: Sequence[DayCutting], van: Van) -> Plan:
    """Return what was announced as far as it can still be cut, and each day's rest by itself."""
    room = dict(van)
    return [days.filled(_kept(week, Remaining(week.problem, room))) for week, days in zip(weeks, cutting, strict=True)]


def _kept(week: MaterialWeek, left: Remaining) -> Uses:
    kept: Uses = Counter()
    for (name, places), announced in sorted(week.announced.items()):
        wanted = tuple(place for place in places if place >= 0)
        # what is in the shop is cut before more of it is ordered
        sticks = [k for k, known in enumerate(week.names) if known == name][::-1]
        for _ in range(announced if wanted else 0):
            pattern = next((p for k in sticks if _can(week, left, p := Pattern(k, wanted))), None)
            if pattern:
                left.take(pattern, 1)
                kept[pattern] += 1
    return kept


def _can(week: MaterialWeek, left: Remaining, pattern: Pattern) -> bool:
    return week.problem.allowed(pattern) and left.fits(pattern, 1)


def _patterns(listed: list[Pattern] | None, plans: Sequence[Plan], place: int) -> list[Pattern]:
    """Return the patterns listed of a material and those that plans hold, each once."""
    found = (pattern for plan in plans for pattern in plan[place])
    return list(dict.fromkeys([*(listed or ()), *found]))


def _pool(
    week: MaterialWeek, listed: list[Pattern] | None, plans: Sequence[Plan], place: int, point: Point | None
) -> Pool:
    used = [pattern for (part, pattern), _ in point.uses if part == place] if point else []
    patterns = list(dict.fromkeys([*_patterns(listed, plans, place), *used]))
    starts = [plan[place] for plan in plans]
    return Pool(
        week.problem, patterns, starts, week.relaxed, week.announced, week.names, week.cost_scale,
        week.material.priced, listed is not None,
    )  # fmt: skip
