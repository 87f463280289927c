"""All the week's jobs pooled, material by material, then together where the van is too small for all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.allowances import differ
from solver.cutting import Pattern, solve
from solver.materials import Material
from solver.plan import StoppedBy
from solver.watch import Watch
from solver.weekly.alone import AloneJob, plan_alone
from solver.weekly.candidates import Candidates, candidates
from solver.weekly.choosing import Choice, carried_nights, choose, choose_together, fits
from solver.weekly.dated import Van
from solver.weekly.material_week import MaterialWeek
from solver.weekly.pieces import announced_sticks, patterns_alone, pieces_of
from solver.weekly.pool import Pool
from solver.weekly.standing import Standing
from solver.weekly.week import DAYS, Week


@dataclass(frozen=True, slots=True)
class Pooled:
    """A material with its choice: how often each pattern is cut, and why no better one was looked for."""

    week: MaterialWeek
    uses: Mapping[Pattern, int]
    stopped_by: StoppedBy

    @property
    def least(self) -> bool:
        """Whether no choice at all is cheaper."""
        return self.stopped_by is StoppedBy.PROOF


@dataclass(frozen=True, slots=True)
class PooledWeek:
    """Every material with its choice; ``bound`` is as in ``Candidates``, and None where some are not chosen for."""

    parts: tuple[Pooled, ...]
    bound: int | None


def weeks_of(standing: Standing, watch: Watch, *, keep_runs: bool) -> tuple[MaterialWeek, ...]:
    """Return every material that a job still needs, its jobs planned alone.

    With ``keep_runs`` materials that have runs are left to their jobs' own plans.
    """
    wanted = {required.material for job in standing.jobs for required in job.job.required}
    materials = [material for material in standing.week.materials if material.id in wanted]
    return tuple(
        _material_week(standing, material, watch.within(watch.left / (len(materials) - place)), keep_runs=keep_runs)
        for place, material in enumerate(materials)
    )


def pool(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> PooledWeek:
    """Choose for every material by itself; where the van is too small for all of that, for all of them together."""
    free = [week for week in weeks if not week.fixed]
    chosen = _pooled(free, van, watch) if free else PooledWeek((), None)
    pooled = iter(chosen.parts)
    ended = _ended(watch, least=False, hurried=False)
    parts = tuple(Pooled(week, week.start, ended) if week.fixed else next(pooled) for week in weeks)
    return PooledWeek(parts, chosen.bound if len(free) == len(weeks) else None)


def _pooled(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> PooledWeek:
    first = watch.within(watch.left / 2)
    known = candidates(weeks, van, first)
    hurried = first.stopped
    own, bound = None if known.van_is_tight else _own(known.pools, van, watch.within(watch.left / 2)), known.bound
    if own is None or not fits(_nights(known.pools, [choice.uses[0] for choice in own]), van):
        together = choose_together(known.pools, _best_plan(known, van), van, watch)
        if together.least and all(each.complete and each.money for each in known.pools):
            bound = _standing(known.pools, together.uses)[1]
        # the least of all together says nothing of the least of each
        own = [Choice((uses,), least=False) for uses in together.uses]
    parts = tuple(
        Pooled(week, choice.uses[0], _ended(watch, least=choice.least and chosen_from.complete, hurried=hurried))
        for week, choice, chosen_from in zip(weeks, own, known.pools, strict=True)
    )
    return PooledWeek(parts, None if any(week.has_runs for week in weeks) else bound)


def _ended(watch: Watch, *, least: bool, hurried: bool) -> StoppedBy:
    exhausted = not (hurried or watch.stopped)
    return StoppedBy.of(proven=least, exhausted=exhausted, cancelled=watch.cancelled())


def _own(pools: Sequence[Pool], van: Van, watch: Watch) -> list[Choice]:
    return [choose(pool, van, watch.within(watch.left / (len(pools) - place))) for place, pool in enumerate(pools)]


def _best_plan(known: Candidates, van: Van) -> Sequence[Mapping[Pattern, int]]:
    """Return the best of the plans that fit in the van, the first of equals; the first of all carries nothing."""
    fitting = [plan for plan in known.plans if fits(_nights(known.pools, plan), van)]
    return min(fitting or known.plans[:1], key=lambda plan: _standing(known.pools, plan))


def _standing(pools: Sequence[Pool], plan: Sequence[Mapping[Pattern, int]]) -> tuple[int, int, int]:
    """Return the length a plan leaves uncut, its cost in money, and its cost in length."""
    uncut, money, length = 0, 0, 0
    for pool, uses in zip(pools, plan, strict=True):
        short, cost = pool.problem.standing(uses)
        uncut += short
        money += cost * pool.cost_scale * pool.money
        length += cost * (not pool.money)
    return uncut, money, length


def _nights(pools: Sequence[Pool], plan: Sequence[Mapping[Pattern, int]]) -> Counter[int]:
    return carried_nights((pool.problem, uses) for pool, uses in zip(pools, plan, strict=True))


def van_of(week: Week) -> Van:
    """Return the room in the van each night; the night before the week counts too."""
    carry = week.limits.carry
    return {} if carry is None else dict.fromkeys(range(-1, DAYS), carry)


def _material_week(standing: Standing, material: Material, watch: Watch, *, keep_runs: bool) -> MaterialWeek:
    hand = standing.hand(material)
    alone = plan_alone(standing.jobs, material, hand, watch.within(watch.left / 2))
    pieces = pieces_of(alone)
    settings = next(m for m in standing.jobs[0].job.materials if m.id == material.id).settings
    problem = pieces.problem(hand, settings)
    fixed = not problem.pieces or _fixed(material, alone, keep_runs=keep_runs)
    plan = standing.moment.announced
    announced = announced_sticks(plan, material.id, pieces) if plan else {}
    start, relaxed = patterns_alone(alone, pieces), solve(problem.relaxed(), watch.within(watch.left / 2))
    return MaterialWeek(material, hand, alone, pieces, problem, start, relaxed, announced, fixed)


def _fixed(material: Material, alone: Iterable[AloneJob], *, keep_runs: bool) -> bool:
    """Whether the jobs' own cuts must stay: laps hang on which stick a run's piece comes from, or on chance ends."""
    kept = keep_runs or differ(material)
    return any(one.demand.runs and (kept or one.filled.notices) for one in alone)
