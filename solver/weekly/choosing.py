"""Which of the patterns known are cut, and how often, goal after goal: for each material, or for all together.

Least length uncut, least cost (money, then length where stock has no prices), fewest offcuts carried, fewest
announced sticks changed. Each material is chosen for by itself; where the van is too small for all of that, all of
them together, and the van's limit holds over all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.cutting.problem import Pattern
from solver.plan import StoppedBy
from solver.watch import Watch
from solver.weekly.choice_model import ChoiceModel
from solver.weekly.column_pool import ColumnPool, ColumnPools, column_pools
from solver.weekly.day_cutting import Uses
from solver.weekly.material_week import MaterialWeek
from solver.weekly.recutting import Recutting
from solver.weekly.timed import TimedProblem, Van
from solver.weekly.week import DAYS, Week

WORK = (1.0, 0.4, 0.4)
"""CP-SAT's deterministic seconds for each goal of the bill: uncut, money, length."""
LATER_WORK = (0.2, 0.2)
"""The same for what may only then be made less: offcuts carried, announced sticks changed."""


@dataclass(frozen=True, slots=True)
class Choice:
    """How often each pattern is cut, for each pool; ``optimal`` says whether no choice from them is cheaper."""

    uses: tuple[Uses, ...]
    optimal: bool


def choose(pool: ColumnPool, van: Van, watch: Watch) -> Choice:
    """Return the best choice found for one material with the room there is in the van."""
    return choose_together([pool], [best_start(pool, van)], van, watch)


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
    if not all(proven) or not all(pool.complete for pool in pools):
        found = _recut(pools, found, van, watch)
    lighter = [
        pool.keeping_announced(pool.without_useless_carries(uses, watch), watch)
        for pool, uses in zip(pools, found, strict=True)
    ]
    return Choice(_fewest(pools, lighter, van, watch), all(proven))


def _recut(pools: Sequence[ColumnPool], found: Sequence[Uses], van: Van, watch: Watch) -> list[Uses]:
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
    for goal, work, floor in zip(model.later(), LATER_WORK, (0, unchanged), strict=True):
        model.minimise(goal, work, floor, watch)
    return tuple(Counter(pool.problem.trimmed(model.uses(k))) for k, pool in enumerate(pools))


def _floor(pools: Sequence[ColumnPool], *, money: bool) -> int:
    return sum(pool.floor * (pool.week.cost_scale if money else 1) for pool in pools if pool.money is money)


def best_start(pool: ColumnPool, van: Van) -> Mapping[Pattern, int]:
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


@dataclass(frozen=True, slots=True)
class Pooled:
    """A material with its choice: how often each pattern is cut, and why no better one was looked for."""

    week: MaterialWeek
    uses: Mapping[Pattern, int]
    stopped_by: StoppedBy

    @property
    def optimal(self) -> bool:
        """Whether no choice at all is cheaper."""
        return self.stopped_by is StoppedBy.PROOF


@dataclass(frozen=True, slots=True)
class PooledWeek:
    """Every material with its choice; ``bound`` is as in ``ColumnPools``, and None where some are not chosen for."""

    parts: tuple[Pooled, ...]
    bound: int | None


def pool(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> PooledWeek:
    """Choose for every material by itself; where the van is too small for all of that, for all of them together."""
    free = [week for week in weeks if not week.fixed]
    chosen = _pooled(free, van, watch) if free else PooledWeek((), None)
    pooled = iter(chosen.parts)
    parts = tuple(
        Pooled(week, week.start, _ended(watch, optimal=False, hurried=week.hurried)) if week.fixed else next(pooled)
        for week in weeks
    )
    return PooledWeek(parts, chosen.bound if len(free) == len(weeks) else None)


def _pooled(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> PooledWeek:
    first = watch.within(watch.left / 2)
    known = column_pools(weeks, van, first)
    hurried = first.stopped
    own, bound = None if known.van_is_tight else _own(known.pools, van, watch.within(watch.left / 2)), known.bound
    if own is None or not fits(_nights(known.pools, [choice.uses[0] for choice in own]), van):
        together = choose_together(known.pools, _best_plan(known, van), van, watch)
        if together.optimal and all(each.complete and each.money for each in known.pools):
            bound = _objective(known.pools, together.uses)[1]
        # the least of all together says nothing of the least of each
        own = [Choice((uses,), optimal=False) for uses in together.uses]
    parts = tuple(
        Pooled(
            week,
            choice.uses[0],
            _ended(watch, optimal=choice.optimal and chosen_from.complete, hurried=hurried or week.hurried),
        )
        for week, choice, chosen_from in zip(weeks, own, known.pools, strict=True)
    )
    return PooledWeek(parts, None if any(week.has_runs for week in weeks) else bound)


def _ended(watch: Watch, *, optimal: bool, hurried: bool) -> StoppedBy:
    exhausted = not (hurried or watch.stopped)
    return StoppedBy.of(proven=optimal, exhausted=exhausted, cancelled=watch.cancelled())


def _own(pools: Sequence[ColumnPool], van: Van, watch: Watch) -> list[Choice]:
    return [choose(pool, van, watch.within(watch.left / (len(pools) - place))) for place, pool in enumerate(pools)]


def _best_plan(known: ColumnPools, van: Van) -> Sequence[Mapping[Pattern, int]]:
    """Return the best of the plans that fit in the van, the first of equals; the first of all carries nothing."""
    fitting = [plan for plan in known.plans if fits(_nights(known.pools, plan), van)]
    return min(fitting or known.plans[:1], key=lambda plan: _objective(known.pools, plan))


def _objective(pools: Sequence[ColumnPool], plan: Sequence[Mapping[Pattern, int]]) -> tuple[int, int, int]:
    """Return the length a plan leaves uncut, its cost in money, and its cost in length."""
    uncut, money, length = 0, 0, 0
    for pool, uses in zip(pools, plan, strict=True):
        short, cost = pool.problem.objective(uses)
        uncut += short
        money += cost * pool.week.cost_scale * pool.money
        length += cost * (not pool.money)
    return uncut, money, length


def _nights(pools: Sequence[ColumnPool], plan: Sequence[Mapping[Pattern, int]]) -> Counter[int]:
    return carried_nights((pool.problem, uses) for pool, uses in zip(pools, plan, strict=True))


def van_of(week: Week) -> Van:
    """Return the room in the van each night; the night before the week counts too."""
    carry = week.limits.carry
    return {} if carry is None else dict.fromkeys(range(-1, DAYS), carry)
