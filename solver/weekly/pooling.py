"""All the week's jobs pooled, material by material, then together where the van is too small for all of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from solver.cutting import Pattern, solve
from solver.demand import cost_step
from solver.materials import Material
from solver.watch import Watch
from solver.weekly.alone import AloneJob, plan_alone
from solver.weekly.choosing import Choice, Pool, carried_nights, choose, choose_together, fits
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.generation import Generated, generate
from solver.weekly.improving import improved
from solver.weekly.listing import TooMany, every_pattern
from solver.weekly.pieces import Pieces, Signature, announced_sticks, patterns_alone, pieces_of, signatures
from solver.weekly.standing import Hand, Standing
from solver.weekly.week import DAYS, Week

COST_UNITS = Decimal(10_000)
"""Money is counted in ten-thousandths, the finest that a price may have."""
LISTED_STEPS = 20_000
"""Steps spent on listing every pattern; where that is not enough they are generated."""


@dataclass(frozen=True, slots=True)
class MaterialWeek:
    """One material of the week: its jobs alone, its pieces, and what there is to choose from.

    A ``fixed`` one is cut just as its jobs are alone.
    """

    material: Material
    hand: Hand
    alone: tuple[AloneJob, ...]
    pieces: Pieces
    pool: Pool
    fixed: bool

    @property
    def has_runs(self) -> bool:
        """Whether runs longer than a stick are among its items."""
        return any(one.demand.runs for one in self.alone)

    def signed(self, pattern: Pattern) -> Signature:
        """Return what a pattern is known by in an announced plan."""
        return signatures(self.hand, [pattern])[0]


@dataclass(frozen=True, slots=True)
class Pooled:
    """A material with its choice: how often each pattern is cut, and whether no choice at all is cheaper."""

    week: MaterialWeek
    uses: Mapping[Pattern, int]
    least: bool


def weeks_of(standing: Standing, watch: Watch, *, keep_runs: bool) -> tuple[MaterialWeek, ...]:
    """Return what there is to choose from for every material that a job still needs.

    With ``keep_runs`` materials that have runs are left to their jobs' own plans.
    """
    wanted = {required.material for job in standing.jobs for required in job.job.required}
    materials = [material for material in standing.week.materials if material.id in wanted]
    return tuple(
        _material_week(
            standing, material, watch.within(watch.left * 0.6 / (len(materials) - place)), keep_runs=keep_runs
        )
        for place, material in enumerate(materials)
    )


def pool(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> tuple[Pooled, ...]:
    """Choose for every material by itself; where the van is too small for all, share it out among them."""
    free = [week for week in weeks if not week.fixed]
    own = [
        choose(week.pool, van, watch.within(watch.left / (2 * len(free) - place))) for place, week in enumerate(free)
    ]
    if fits(carried_nights(_chosen(free, own)), van):
        pooled = iter([_pooled([week], choice)[0] for week, choice in zip(free, own, strict=True)])
    else:
        pooled = iter(_shared(free, own, van, watch))
    return tuple(Pooled(week, week.pool.starts[-1], least=False) if week.fixed else next(pooled) for week in weeks)


def _shared(weeks: Sequence[MaterialWeek], own: Sequence[Choice], van: Van, watch: Watch) -> tuple[Pooled, ...]:
    """Give the room in the van to one material after the other, those that save most first, then look at all again."""
    saved = [
        _cost(week, week.pool.starts[-1]) - _cost(week, choice.uses[0]) for week, choice in zip(weeks, own, strict=True)
    ]
    room = dict(van)
    found: dict[int, Mapping[Pattern, int]] = {}
    for place in sorted(range(len(weeks)), key=lambda place: -saved[place]):
        choice = choose(weeks[place].pool, room, watch.within(watch.left / (len(weeks) + 1 - len(found))))
        found[place] = choice.uses[0]
        for night, count in carried_nights([(weeks[place].pool.problem, choice.uses[0])]).items():
            if night in room:
                room[night] -= count
    starts = [found[place] for place in range(len(weeks))]
    together = choose_together([week.pool for week in weeks], starts, van, watch)
    # the least of all together says nothing of the least of each
    return _pooled(weeks, replace(together, least=False))


def _cost(week: MaterialWeek, uses: Mapping[Pattern, int]) -> int:
    supplies = week.pool.problem.supplies
    return week.pool.cost_scale * sum(times * supplies[pattern.stick].cost for pattern, times in uses.items())


def _chosen(weeks: Sequence[MaterialWeek], own: Sequence[Choice]) -> list[tuple[DatedProblem, Mapping[Pattern, int]]]:
    return [(week.pool.problem, choice.uses[0]) for week, choice in zip(weeks, own, strict=True)]


def van_of(week: Week) -> Van:
    """Return the room in the van each night; the night before the week counts too."""
    carry = week.limits.carry
    return {} if carry is None else dict.fromkeys(range(-1, DAYS), carry)


def _pooled(weeks: Sequence[MaterialWeek], choice: Choice) -> tuple[Pooled, ...]:
    return tuple(
        Pooled(week, trimmed(week.pool.problem, uses), choice.least and week.pool.complete)
        for week, uses in zip(weeks, choice.uses, strict=True)
    )


def trimmed(problem: DatedProblem, uses: Mapping[Pattern, int]) -> dict[Pattern, int]:
    """Return the uses without the pieces that are cut too often, taken first from sticks that are carried."""
    over = [-piece.demand for piece in problem.pieces]
    for pattern, times in uses.items():
        for i in pattern.pieces:
            over[i] += times
    made: Counter[Pattern] = Counter()
    for pattern in sorted(uses, key=lambda p: (-problem.carried(p), p)):
        for _ in range(uses[pattern]):
            kept = []
            for i in reversed(pattern.pieces):
                if over[i] > 0:
                    over[i] -= 1
                else:
                    kept.append(i)
            if kept:
                made[Pattern(pattern.stick, tuple(reversed(kept)))] += 1
    return dict(made)


def _material_week(standing: Standing, material: Material, watch: Watch, *, keep_runs: bool) -> MaterialWeek:
    hand = standing.hand(material)
    alone = plan_alone(standing.jobs, material, hand, watch.within(watch.left / 2))
    pieces = pieces_of(alone)
    settings = next(m for m in standing.jobs[0].job.materials if m.id == material.id).settings
    problem = pieces.problem(hand, settings)
    start = patterns_alone(alone, pieces)
    relaxed = solve(problem.relaxed(), watch.within(watch.left / 4))
    fixed = not problem.pieces or _fixed(material, alone, keep_runs=keep_runs)
    found, complete = (
        (Generated(list(start), start), False) if fixed else _patterns(problem, start, van_of(standing.week), watch)
    )
    signed = signatures(hand, found.patterns)
    plan = standing.moment.announced
    announced = announced_sticks(plan, material.id, pieces) if plan else Counter()
    best = start if complete or fixed else improved(problem, found.patterns, found.plan, van_of(standing.week), watch)
    starts = (best, found.plan, start)
    scale = int(cost_step(material) * COST_UNITS)
    pool_of = Pool(problem, found.patterns, starts, relaxed, announced, signed, scale, material.priced, complete)
    return MaterialWeek(material, hand, alone, pieces, pool_of, fixed)


def _patterns(problem: DatedProblem, start: Mapping[Pattern, int], van: Van, watch: Watch) -> tuple[Generated, bool]:
    """Return patterns to choose from, and whether they are all there are."""
    try:
        return Generated(every_pattern(problem, LISTED_STEPS), start), True
    except TooMany:
        return generate(problem, start, van, watch.within(watch.left * 0.7)), False


def _fixed(material: Material, alone: Iterable[AloneJob], *, keep_runs: bool) -> bool:
    """Whether the jobs' own cuts must stay: laps hang on which stick a run's piece comes from, or on chance ends."""
    own = any(row.lap is not None or row.end_gap is not None for row in material.stock)
    return any(one.demand.runs and (keep_runs or own or one.filled.notices) for one in alone)
