"""The best plan found for all materials of a week in the van they share, from the beginning and from other plans.

Materials that are sold by rules are cut from the sticks of their cheapest purchase alone; where these leave something
uncut, from any, each at what it came to there, and then from what the purchase that does comes to, chosen with the
patterns.

The search knows nothing of what was announced, so that it finds on a second night what it found on the first. The
announced plan is then held against it, and the cheaper of the two stands, the announced one of equals. An announced one
that is cheaper than all that was found is bettered further. So a second night on an unchanged week ends where the first
did.

What fits in a smaller van fits in a larger one, so the plan of a week that is not proven the least is held against the
plans for smaller vans: against all of them where it is small, the next ones where it is larger.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace

from solver.cutting.problem import Pattern
from solver.plan import StoppedBy
from solver.watch import Watch
from solver.weekly.choosing import Choice, choose, choose_billed, choose_together, finished, recut
from solver.weekly.material_week import MaterialWeek
from solver.weekly.patterns.column_pool import ColumnPool, ColumnPools, Plan, announced_plan, column_pools
from solver.weekly.patterns.generation import JointBound
from solver.weekly.timed import Van, carried_nights, fits
from solver.weekly.week import DAYS

VANS = 12
"""The largest of the smaller vans that are asked."""
SMALL, LARGE = 40, 160
"""Up to so many dated pieces of different kinds all smaller vans are asked, and from so many on none."""
IN_VAIN = 2
"""Between the two none is asked any more after so many in a row that gave nothing better."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """A material with its choice: how often each pattern is cut, and why no better one was looked for.

    ``floor`` is what no plan that cuts everything of it costs less than, in its cost steps, 0 where it is not known.
    """

    week: MaterialWeek
    uses: Mapping[Pattern, int]
    stopped_by: StoppedBy
    floor: int

    @property
    def optimal(self) -> bool:
        """Whether no choice at all is cheaper."""
        return self.stopped_by is StoppedBy.PROOF

    @property
    def uncut(self) -> int:
        """The length of pieces that are left uncut."""
        return self.week.problem.objective(self.uses)[0]


@dataclass(frozen=True, slots=True)
class PooledWeek:
    """Every material with its choice; ``bound`` is as in ``ColumnPools``, and None where some are not chosen for."""

    parts: tuple[Pooled, ...]
    bound: JointBound | None

    @property
    def objective(self) -> tuple[int, ...]:
        """What is made small goal after goal, as ``_goals``, but billed; runs that are not laid count as uncut."""
        weeks = [part.week for part in self.parts]
        runs = sum(entry.quantity for week in weeks for one in week.laid for entry in one.filled.not_cut)
        uncut, money, length, *others = _goals(weeks, [part.uses for part in self.parts])
        for part in self.parts:
            rules = part.week.objective(part.uses)[1] - part.week.problem.objective(part.uses)[1]
            money += rules * part.week.cost_scale * part.week.material.priced
            length += rules * (not part.week.material.priced)
        return uncut + runs, money, length, *others

    @property
    def nights(self) -> Counter[int]:
        """How many offcuts lie in the van in the night after each day."""
        return carried_nights((part.week.problem, part.uses) for part in self.parts)

    def with_uses(self, places: Sequence[int], plan: Sequence[Mapping[Pattern, int]]) -> PooledWeek:
        """Return this with other choices for the materials in some places."""
        parts = list(self.parts)
        for k, uses in zip(places, plan, strict=True):
            parts[k] = replace(parts[k], uses=uses)
        return replace(self, parts=tuple(parts))


@dataclass(frozen=True, slots=True)
class _Found:
    """A plan with what it was chosen from; ``optimal`` says of each material whether none cuts it cheaper."""

    pools: Sequence[ColumnPool]
    plan: Plan
    optimal: Sequence[bool]
    bound: JointBound | None
    hurried: bool

    @property
    def objective(self) -> tuple[int, int, int]:
        """The length it leaves uncut, its cost in money, and its cost in length."""
        return _objective(_weeks(self.pools), self.plan)

    @property
    def is_least(self) -> bool:
        """Whether no plan in this van is cheaper."""
        uncut, money, length = self.objective
        return all(self.known_least) or (not uncut and not length and money == self._least_money)

    @property
    def known_least(self) -> list[bool]:
        """Of each material, whether none cuts it cheaper."""
        return [
            known or pool.problem.objective(uses) == (0, pool.floor)
            for known, pool, uses in zip(self.optimal, self.pools, self.plan, strict=True)
        ]

    @property
    def _least_money(self) -> int:
        floor = sum(pool.floor * pool.week.cost_scale for pool in self.pools if pool.money)
        return max(floor, self.bound.least if self.bound else 0)

    def with_plan(self, plan: Plan) -> _Found:
        """Return this with another plan; a material that now costs otherwise is not known to cost the least."""
        optimal = [
            known and pool.problem.objective(new) == pool.problem.objective(old)
            for known, pool, new, old in zip(self.optimal, self.pools, plan, self.plan, strict=True)
        ]
        return replace(self, plan=plan, optimal=optimal)


def pool(weeks: Sequence[MaterialWeek], carry: int | None, watch: Watch) -> PooledWeek:
    """Return the plan of every material in a van for ``carry`` offcuts a night (None: as many as wanted).

    Those that are sold by rules are cut from the sticks of their cheapest purchases alone, where these do, else from
    those of the cheapest that is known to do.
    """
    asked = [week.as_bought for week in weeks]
    once = all(own is week for own, week in zip(asked, weeks, strict=True))
    found = _pool(asked, carry, watch if once else watch.within(watch.left / 2))
    while short := [k for k, part in enumerate(found.parts) if part.uncut and asked[k] is not weeks[k]]:
        for k in short:
            asked[k] = weeks[k]
        found = _pool(asked, carry, watch.within(watch.left / 2))
    ruled = [k for k, week in enumerate(weeks) if week.as_bought is not week]
    # nothing is known of bills yet: bounds are of what can be bought, not of what was
    whole = [replace(part, week=weeks[k], floor=part.floor * (k not in ruled)) for k, part in enumerate(found.parts)]
    found = replace(found, parts=tuple(whole))
    loose = [k for k in ruled if asked[k] is weeks[k]]
    return _bought_anew(found, loose, carry, watch) if loose else found


def _bought_anew(found: PooledWeek, loose: Sequence[int], carry: int | None, watch: Watch) -> PooledWeek:
    """Return the best plan known with the ``loose`` materials cut from the cheapest purchases that are known to do."""
    van, places = van_of(carry), list(loose)
    pools = column_pools([found.parts[k].week for k in places], van, watch.within(watch.left / 4)).pools
    announced = announced_plan([pool.week for pool in pools], room_beside(found, places, carry), watch)
    begun = min(found.with_uses(places, announced), found, key=lambda each: each.objective[:3])
    own = [choose_billed([pool], [begun.parts[k].uses], van, watch) for k, pool in zip(places, pools, strict=True)]
    plan = begun.with_uses(places, [choice.uses[0] for choice in own])
    if not fits(plan.nights, van):
        places = [k for k, part in enumerate(found.parts) if not part.week.fixed]
        pools = column_pools([found.parts[k].week for k in places], van, watch.within(watch.left / 4)).pools
        room = room_beside(found, places, carry)
        plan = plan.with_uses(places, choose_billed(pools, [begun.parts[k].uses for k in places], room, watch).uses)
    bought = [
        replace(pool, week=pool.week.cut_from_purchase(plan.parts[k].uses))
        for k, pool in zip(places, pools, strict=True)
    ]
    uses = [Counter(plan.parts[k].uses) for k in places]
    plan = plan.with_uses(places, finished(bought, uses, room_beside(plan, places, carry), watch))
    parts = list(plan.parts)
    for k, choice in zip(loose, own, strict=True):
        if choice.optimal:
            parts[k] = replace(parts[k], floor=parts[k].week.objective(choice.uses[0])[1])
    return replace(plan, parts=tuple(parts))


def _pool(weeks: Sequence[MaterialWeek], carry: int | None, watch: Watch) -> PooledWeek:
    free = [week for week in weeks if not week.fixed]
    found = _pooled(free, carry, watch) if free else _Found((), [], (), None, hurried=False)
    chosen = iter(zip(found.plan, found.known_least, (each.floor for each in found.pools), strict=True))
    parts = []
    for week in weeks:
        uses, optimal, floor = (week.start, False, 0) if week.fixed else next(chosen)
        hurried = week.hurried or (found.hurried and not week.fixed)
        parts.append(Pooled(week, uses, _ended(watch, optimal=optimal, hurried=hurried), floor))
    known = len(free) == len(weeks) and not any(week.has_runs for week in weeks)
    return PooledWeek(tuple(parts), found.bound if known else None)


def _ended(watch: Watch, *, optimal: bool, hurried: bool) -> StoppedBy:
    exhausted = not (hurried or watch.stopped)
    return StoppedBy.of(proven=optimal, exhausted=exhausted, cancelled=watch.cancelled())


def _pooled(weeks: Sequence[MaterialWeek], carry: int | None, watch: Watch) -> _Found:
    # what is done with what was announced takes little, so that the search is given the same time without it
    found = _within([replace(week, announced={}) for week in weeks], carry, watch.within(watch.left * 0.8))
    if not any(week.announced for week in weeks):
        return found
    van = van_of(carry)
    announced = announced_plan(weeks, van, watch)
    before, now = (_goals(weeks, plan) for plan in (announced, found.plan))
    stands = fits(_nights(found.pools, announced), van) and before[:3] <= now[:3]
    if stands and before[:3] == now[:3] and before <= now:
        return found.with_plan(announced)
    pools = [
        replace(known, week=week).with_patterns(uses)
        for known, week, uses in zip(found.pools, weeks, announced, strict=True)
    ]
    if stands and before[:3] < now[:3]:
        return found.with_plan(_settled(pools, announced, van, watch))
    return found.with_plan(list(finished(pools, announced if stands else found.plan, van, watch)))


def _within(weeks: Sequence[MaterialWeek], carry: int | None, watch: Watch) -> _Found:
    """Return the best plan found for this van or a smaller one."""
    own = best = _found(weeks, van_of(carry), watch.within(watch.left / 2))
    kinds, in_vain = sum(len(week.problem.pieces) for week in weeks), 0
    for smaller in reversed(range(VANS + 1 if carry is None else min(VANS + 1, carry))) if kinds < LARGE else ():
        if best.is_least or watch.stopped or (kinds > SMALL and in_vain == IN_VAIN):
            break
        other = _found(weeks, van_of(smaller), watch.within(watch.left / 2))
        in_vain = 0 if other.objective < best.objective else in_vain + 1
        best = min(best, other, key=lambda each: each.objective)
        if other.bound is not None and not other.objective[0] and other.bound.least >= best.objective[1]:
            # smaller vans still cost no less than this one must
            break
    return own if best is own else own.with_plan(_settled(own.pools, best.plan, van_of(carry), watch))


def _found(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> _Found:
    """Choose for every material by itself; where the van is too small for all of that, for all of them together."""
    first = watch.within(watch.left / 2)
    known = column_pools(weeks, van, first)
    pools, bound, hurried = known.pools, known.bound, first.stopped
    own = None if known.van_is_tight else _own(pools, van, watch.within(watch.left / 2))
    if own is not None and fits(_nights(pools, [choice.uses[0] for choice in own]), van):
        return _Found(pools, [c.uses[0] for c in own], [c.least[0] for c in own], bound, hurried)
    together = choose_together(pools, _best_plan(known, van), van, watch)
    if together.optimal and all(each.money for each in pools):
        bound = JointBound(_objective(_weeks(pools), together.uses)[1])
    # the least of all together says nothing of the least of each
    return _Found(pools, list(together.uses), list(together.least), bound, hurried)


def _settled(pools: Sequence[ColumnPool], plan: Plan, van: Van, watch: Watch) -> Plan:
    """Finish a plan again and again until that makes it no cheaper."""
    while not watch.stopped:
        following = list(finished(pools, recut(pools, plan, van, watch)[0], van, watch))
        if _objective(_weeks(pools), following) >= _objective(_weeks(pools), plan):
            # one that was announced may still be changed less than it was
            return following if any(each.week.announced for each in pools) else plan
        plan = following
    return plan


def _own(pools: Sequence[ColumnPool], van: Van, watch: Watch) -> list[Choice]:
    return [choose(pool, van, watch.within(watch.left / (len(pools) - place))) for place, pool in enumerate(pools)]


def _best_plan(known: ColumnPools, van: Van) -> Sequence[Mapping[Pattern, int]]:
    """Return the best of the plans that fit in the van, the first of equals; the first of all carries nothing."""
    fitting = [plan for plan in known.plans if fits(_nights(known.pools, plan), van)]
    return min(fitting or known.plans[:1], key=lambda plan: _objective(_weeks(known.pools), plan))


def _objective(weeks: Sequence[MaterialWeek], plan: Sequence[Mapping[Pattern, int]]) -> tuple[int, int, int]:
    """Return the length a plan leaves uncut, its cost in money, and its cost in length."""
    uncut, money, length = 0, 0, 0
    for week, uses in zip(weeks, plan, strict=True):
        short, cost = week.problem.objective(uses)
        uncut += short
        money += cost * week.cost_scale * week.material.priced
        length += cost * (not week.material.priced)
    return uncut, money, length


def _goals(weeks: Sequence[MaterialWeek], plan: Sequence[Mapping[Pattern, int]]) -> tuple[int, ...]:
    """Return what is made small goal after goal: the bill, then sticks of the shop cut, then offcuts carried."""
    each = [(week, pattern, n) for week, uses in zip(weeks, plan, strict=True) for pattern, n in uses.items()]
    opened = sum(week.opens(pattern) * n for week, pattern, n in each)
    return *_objective(weeks, plan), opened, sum(week.problem.carried(pattern) * n for week, pattern, n in each)


def _weeks(pools: Sequence[ColumnPool]) -> list[MaterialWeek]:
    return [pool.week for pool in pools]


def _nights(pools: Sequence[ColumnPool], plan: Sequence[Mapping[Pattern, int]]) -> Counter[int]:
    return carried_nights((pool.problem, uses) for pool, uses in zip(pools, plan, strict=True))


def van_of(carry: int | None) -> Van:
    """Return the room in the van each night; the night before the week counts too."""
    return {} if carry is None else dict.fromkeys(range(-1, DAYS), carry)


def room_beside(pooled: PooledWeek, places: Container[int], carry: int | None) -> Van:
    """Return the room in the van each night beside what the materials that are not in these places have in it."""
    others = carried_nights((p.week.problem, p.uses) for k, p in enumerate(pooled.parts) if k not in places)
    return {night: most - others[night] for night, most in van_of(carry).items()}
