"""Which of the patterns known are cut, and how often, goal after goal: for each material, or for all together.

Least length uncut, least cost (money, then length where stock has no prices), fewest whole sticks cut of those that lie
in the shop (they can go back, offcuts can't), fewest offcuts carried, fewest announced sticks changed. Each material is
chosen for by itself; where the van is too small for all of that, all of them together, and the van's limit holds over
all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.choice.choice_model import ChoiceModel
from solver.weekly.choice.recutting import Recutting
from solver.weekly.day_cutting import Uses
from solver.weekly.patterns.column_pool import ColumnPool
from solver.weekly.timed import TimedProblem, Van

WORK = (1.0, 0.4, 0.4)
"""CP-SAT's deterministic seconds for each goal of the bill: uncut, money, length."""
LATER_WORK = (0.2, 0.2, 0.2)
"""The same for what may only then be made less: sticks of the shop cut, offcuts carried, announced sticks changed."""


@dataclass(frozen=True, slots=True)
class Choice:
    """How often each pattern is cut, for each pool; ``optimal`` says whether no choice from them is cheaper."""

    uses: tuple[Uses, ...]
    optimal: bool


def choose(pool: ColumnPool, van: Van, watch: Watch) -> Choice:
    """Return the best choice found for one material with the room there is in the van."""
    return choose_together([pool], [_best_start(pool, van)], van, watch)


def choose_together(
    pools: Sequence[ColumnPool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch
) -> Choice:
    """Return the best choice found, at worst the starts, which must fit in the van."""
    model = ChoiceModel(pools, starts, van)
    floors = (0, *(_floor(pools, money=money) for money in (True, False)))
    proven = [
        model.minimise(goal, work, floor, watch) for goal, work, floor in zip(model.bill(), WORK, floors, strict=True)
    ]
    found = [model.uses(k) for k in range(len(pools))]
    if not (all(proven) and all(pool.complete for pool in pools)):
        found = recut(pools, found, van, watch)
    return Choice(finished(pools, found, van, watch), all(proven))


def finished(pools: Sequence[ColumnPool], found: Sequence[Uses], van: Van, watch: Watch) -> tuple[Uses, ...]:
    """Return plans no dearer than those found, with less carried and less changed."""
    lighter = [
        pool.keeping_announced(pool.without_useless_carries(uses, watch), watch)
        for pool, uses in zip(pools, found, strict=True)
    ]
    return _fewest(pools, lighter, van, watch)


def recut(pools: Sequence[ColumnPool], found: Sequence[Uses], van: Van, watch: Watch) -> list[Uses]:
    """Return the plans with a few sticks at a time cut anew, one material after the other in the van they share."""
    plans = [pool.problem.trimmed(uses) for pool, uses in zip(pools, found, strict=True)]
    for place, pool in enumerate(pools):
        others = carried_nights((p.problem, plans[k]) for k, p in enumerate(pools) if k != place)
        room = {night: most - others[night] for night, most in van.items()}
        plans[place] = Recutting(pool.problem, room, watch).cheaper(plans[place], pool.floor)
    return [Counter(plan) for plan in plans]


def _fewest(
    pools: Sequence[ColumnPool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch
) -> tuple[Uses, ...]:
    """Return a choice that is no dearer than the starts, carries no more, and changes as little as can be."""
    model = ChoiceModel([pool.with_patterns(start) for pool, start in zip(pools, starts, strict=True)], starts, van)
    for goal in model.bill():
        model.cap(goal)
    unchanged = -sum(count for pool in pools for count in pool.week.announced.values())
    for goal, work, floor in zip(model.later(), LATER_WORK, (0, 0, unchanged), strict=True):
        model.minimise(goal, work, floor, watch)
    return tuple(Counter(pool.problem.trimmed(model.uses(k))) for k, pool in enumerate(pools))


def _floor(pools: Sequence[ColumnPool], *, money: bool) -> int:
    return sum(pool.floor * (pool.week.cost_scale if money else 1) for pool in pools if pool.money is money)


def _best_start(pool: ColumnPool, van: Van) -> Mapping[Pattern, int]:
    """Return the plan to begin with: the best that fits in the van, the first of equals."""
    fitting = [plan for plan in pool.starts if fits(carried_nights([(pool.problem, plan)]), van)]
    return min(fitting or pool.starts[:1], key=pool.problem.objective)


def fits(nights: Counter[int], van: Van) -> bool:
    """Whether so many offcuts a night fit in the van."""
    return all(count <= van.get(night, count) for night, count in nights.items())


def carried_nights(chosen: Iterable[tuple[TimedProblem, Mapping[Pattern, int]]]) -> Counter[int]:
    """Count the offcuts that lie in the van in the night after each day."""
    nights: Counter[int] = Counter()
    for problem, uses in chosen:
        for pattern, times in uses.items():
            for night in problem.nights(pattern):
                nights[night] += times
    return nights
