"""Which of the dated patterns known are cut, and how often, goal after goal.

Least length uncut, least cost (money, then length where stock has no prices), fewest offcuts carried, fewest
announced sticks changed; the van's limit holds over all materials together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.choice_model import ChoiceModel
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.day_cutting import Uses
from solver.weekly.pool import Pool

WORK = (1.0, 0.4, 0.4)
"""CP-SAT's deterministic seconds for each goal of the bill: uncut, money, length."""
LATER_WORK = (0.2, 0.2)
"""The same for what may only then be made less: offcuts carried, announced sticks changed."""


@dataclass(frozen=True, slots=True)
class Choice:
    """How often each pattern is cut, for each pool; ``least`` says whether no choice from them is cheaper."""

    uses: tuple[Uses, ...]
    least: bool


def choose(pool: Pool, van: Van, watch: Watch) -> Choice:
    """Return the best choice found for one material with the room there is in the van."""
    return choose_together([pool], [best_start(pool, van)], van, watch)


def choose_together(pools: Sequence[Pool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch) -> Choice:
    """Return the best choice found, at worst the starts, which must fit in the van."""
    model = ChoiceModel(pools, starts, van)
    floors = (0, *(_floor(pools, money=money) for money in (True, False)))
    proven = [
        model.minimise(goal, work, floor, watch) for goal, work, floor in zip(model.bill(), WORK, floors, strict=True)
    ]
    lighter = [pool.familiar(pool.lightened(model.uses(k), watch), watch) for k, pool in enumerate(pools)]
    return Choice(_fewest(pools, lighter, van, watch), all(proven))


def _fewest(pools: Sequence[Pool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch) -> tuple[Uses, ...]:
    """Return a choice that is no dearer than the starts, carries no more, and changes as little as can be."""
    model = ChoiceModel([pool.with_patterns(start) for pool, start in zip(pools, starts, strict=True)], starts, van)
    for goal in model.bill():
        model.cap(goal)
    unchanged = -sum(count for pool in pools for count in pool.announced.values())
    for goal, work, floor in zip(model.later(), LATER_WORK, (0, unchanged), strict=True):
        model.minimise(goal, work, floor, watch)
    return tuple(Counter(pool.problem.trimmed(model.uses(k))) for k, pool in enumerate(pools))


def _floor(pools: Sequence[Pool], *, money: bool) -> int:
    return sum(pool.floor * (pool.cost_scale if money else 1) for pool in pools if pool.money is money)


def best_start(pool: Pool, van: Van) -> Mapping[Pattern, int]:
    """Return the plan to begin with: the best that fits in the van, the first of equals."""
    fitting = [plan for plan in pool.starts if fits(carried_nights([(pool.problem, plan)]), van)]
    return min(fitting or pool.starts[:1], key=pool.problem.standing)


def fits(nights: Counter[int], van: Van) -> bool:
    """Whether so many offcuts a night fit in the van."""
    return all(count <= van.get(night, count) for night, count in nights.items())


def carried_nights(chosen: Iterable[tuple[DatedProblem, Mapping[Pattern, int]]]) -> Counter[int]:
    """Count the offcuts that lie in the van in the night after each day."""
    nights: Counter[int] = Counter()
    for problem, uses in chosen:
        for pattern, times in uses.items():
            for night in problem.nights(pattern):
                nights[night] += times
    return nights
