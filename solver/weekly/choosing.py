"""Which of the patterns known are cut, and how often, goal after goal: for each material, or for all together.

Least length uncut, least cost (money, then length where stock has no prices), fewest whole sticks cut of those that lie
in the shop (they can go back, offcuts can't), fewest offcuts carried, fewest announced sticks changed. Each material is
chosen for by itself; where the van is too small for all of that, all of them together, and the van's limit holds over
all.

The integer program over timed patterns::

    sum a_ip x_p + y_i >= demand_i      every dated piece i, y_i of them left uncut
    sum x_p <= limit_k                  every limited stick k
    sum x_p <= room_n                   every night n that p is carried, where the van is limited
    z_s <= sum x_p                      every stick s that was announced, z_s of them cut as they were

Solved by CP-SAT with one worker and counted work, so the same week gives the same plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from solver.buying.choice import Kinds, Part
from solver.cutting.problem import Pattern
from solver.lp.cpsat import counted, watched
from solver.lp.lazily import cp_model
from solver.watch import Watch
from solver.weekly.day_cutting import Uses
from solver.weekly.material_week import Signature
from solver.weekly.patterns.column_pool import ColumnPool
from solver.weekly.purchased import Purchased
from solver.weekly.recutting import Recutting
from solver.weekly.timed import Van, carried_nights, fits

WORK = (1.0, 0.4, 0.4)
"""CP-SAT's deterministic seconds for each goal of the bill: uncut, money, length."""
LATER_WORK = (0.2, 0.2, 0.2)
"""The same for what may only then be made less: sticks of the shop cut, offcuts carried, announced sticks changed."""
MOST_BILL = 2**40
"""No purchase comes to as much, in cost steps."""


@dataclass(frozen=True, slots=True)
class Choice:
    """How often each pattern is cut, for each pool.

    ``optimal`` says whether no choice at all is cheaper, ``least`` of each material whether none cuts it cheaper.
    """

    uses: tuple[Uses, ...]
    optimal: bool
    least: tuple[bool, ...]


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
    optimal = all(proven) and all(pool.complete for pool in pools)
    least = [optimal and len(pools) == 1] * len(pools)
    if not optimal:
        found, least = recut(pools, found, van, watch)
    return Choice(finished(pools, found, van, watch), optimal or all(least), tuple(least))


def choose_billed(
    pools: Sequence[ColumnPool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch
) -> Choice:
    """Return the choice whose bills come to least of those found, purchases and patterns as one program.

    The starts are as in ``choose_together``; what is carried or changed for nothing is left as it is.
    """
    pools = _holding(pools, starts)
    model = ChoiceModel(pools, starts, van, billed=True)
    proven = [model.minimise(goal, work, 0, watch) for goal, work in zip(model.bill(), WORK, strict=True)]
    found = [model.uses(k) for k in range(len(pools))]
    optimal = all(proven) and all(pool.complete for pool in pools)
    least = [optimal and len(pools) == 1] * len(pools)
    if not optimal:
        found, least = recut(pools, found, van, watch, billed=True)
    return Choice(tuple(found), optimal or all(least), tuple(least))


def finished(pools: Sequence[ColumnPool], found: Sequence[Uses], van: Van, watch: Watch) -> tuple[Uses, ...]:
    """Return plans no dearer than those found, with fewer whole sticks of the shop cut, less carried, less changed."""
    lighter = [
        pool.keeping_announced(pool.without_useless_carries(uses, watch), watch)
        for pool, uses in zip(pools, found, strict=True)
    ]
    plans = _fewest(pools, lighter, van, watch)
    from_offcuts = _from_offcuts(pools, plans, van, watch)
    return plans if from_offcuts == plans else _fewest(pools, from_offcuts, van, watch)


def _from_offcuts(pools: Sequence[ColumnPool], found: Sequence[Uses], van: Van, watch: Watch) -> tuple[Uses, ...]:
    """Return plans no dearer with fewer whole sticks of the shop cut, a few sticks at a time cut anew for that."""
    plans = [Counter(uses) for uses in found]
    for place, pool in enumerate(pools):
        opened = sum(pool.week.opens(pattern) * times for pattern, times in plans[place].items())
        if opened:
            weight = opened + sum(plans[place].values()) + 1
            problem = pool.week.with_opening(weight)
            recutting = Recutting(problem, _room(pools, plans, place, van), watch)
            # a stick that was not cut at all is opened for nothing less
            floor = weight * pool.problem.objective(plans[place])[1]
            plans[place] = Counter(recutting.cheaper(recutting.on_free_sticks(plans[place]), floor))
    return tuple(plans)


def _room(pools: Sequence[ColumnPool], plans: Sequence[Mapping[Pattern, int]], place: int, van: Van) -> Van:
    """Return the room in the van that the plans of the other materials leave to one."""
    others = carried_nights((pool.problem, plans[k]) for k, pool in enumerate(pools) if k != place)
    return {night: most - others[night] for night, most in van.items()}


def recut(
    pools: Sequence[ColumnPool], found: Sequence[Uses], van: Van, watch: Watch, *, billed: bool = False
) -> tuple[list[Uses], list[bool]]:
    """Return the plans with a few sticks at a time cut anew, one material after the other in the van they share.

    With each comes whether it is known that none cuts its material cheaper, the van all to itself.
    """
    plans = [pool.problem.trimmed(uses) for pool, uses in zip(pools, found, strict=True)]
    least = []
    for place, pool in enumerate(pools):
        room, bought = _room(pools, plans, place, van), pool.week.bought if billed else None
        recutting = Recutting(pool.problem, room, watch, bought)
        plans[place] = recutting.cheaper(plans[place], 0 if bought else pool.floor)
        least.append(recutting.least and room == van)
    return [Counter(plan) for plan in plans], least


def _fewest(
    pools: Sequence[ColumnPool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch
) -> tuple[Uses, ...]:
    """Return a choice that is no dearer than the starts, carries no more, and changes as little as can be."""
    model = ChoiceModel(_holding(pools, starts), starts, van)
    for goal in model.bill():
        model.cap(goal)
    unchanged = -sum(count for pool in pools for count in pool.week.announced.values())
    for goal, work, floor in zip(model.later(), LATER_WORK, (0, 0, unchanged), strict=True):
        model.minimise(goal, work, floor, watch)
    return tuple(Counter(pool.problem.trimmed(model.uses(k))) for k, pool in enumerate(pools))


def _holding(pools: Sequence[ColumnPool], plan: Sequence[Mapping[Pattern, int]]) -> list[ColumnPool]:
    """Return the pools with the patterns of a plan."""
    return [pool.with_patterns(uses) for pool, uses in zip(pools, plan, strict=True)]


def _floor(pools: Sequence[ColumnPool], *, money: bool) -> int:
    return sum(pool.floor * (pool.week.cost_scale if money else 1) for pool in pools if pool.money is money)


def _best_start(pool: ColumnPool, van: Van) -> Mapping[Pattern, int]:
    """Return the plan to begin with: the best that fits in the van, the first of equals."""
    fitting = [plan for plan in pool.starts if fits(carried_nights([(pool.problem, plan)]), van)]
    return min(fitting or pool.starts[:1], key=pool.problem.objective)


Goal: TypeAlias = "list[tuple[cp_model.IntVar, int]]"
"""A sum to be made small: variables with what they weigh."""


class ChoiceModel:
    """Begins with a plan that fits, and makes one goal after the other small without losing the ones before."""

    def __init__(
        self,
        pools: Sequence[ColumnPool],
        starts: Sequence[Mapping[Pattern, int]],
        van: Van,
        *,
        billed: bool = False,
    ) -> None:
        """With ``billed`` what is sold by rules counts for what its purchase comes to, else for its sticks."""
        self._pools = pools
        self._model = cp_model.CpModel()
        self._bills: dict[int, cp_model.IntVar] = {}
        self._counts = [[self._model.new_int_var(0, _most(pool, p), "") for p in pool.patterns] for pool in pools]
        self._uncut = [[self._model.new_int_var(0, p.demand, "") for p in pool.problem.pieces] for pool in pools]
        self._signed = [[pool.week.signed(pattern) for pattern in pool.patterns] for pool in pools]
        self._kept = [
            {s: self._model.new_int_var(0, n, "") for s, n in pool.week.announced.items() if s in set(signed)}
            for pool, signed in zip(pools, self._signed, strict=True)
        ]
        self._values: dict[int, int] = {}
        for k, pool in enumerate(pools):
            self._demand(k)
            self._start(k, starts[k])
            if billed and pool.week.bought is not None:
                self._purchase(k, pool.week.bought, starts[k])
        self._limit_carried(van)

    def _demand(self, k: int) -> None:
        pool, counts, uncut = self._pools[k], self._counts[k], self._uncut[k]
        rows: list[list[cp_model.LinearExprT]] = [[variable] for variable in uncut]
        sticks: list[list[cp_model.LinearExprT]] = [[] for _ in pool.problem.supplies]
        for pattern, count in zip(pool.patterns, counts, strict=True):
            sticks[pattern.stick].append(count)
            for i, copies in Counter(pattern.pieces).items():
                rows[i].append(copies * count)
        for row, piece in zip(rows, pool.problem.pieces, strict=True):
            self._model.add(cp_model.LinearExpr.sum(row) >= piece.demand)
        for used, supply in zip(sticks, pool.problem.supplies, strict=True):
            if supply.limit is not None:
                self._model.add(cp_model.LinearExpr.sum(used) <= supply.limit)
        for signature, kept in self._kept[k].items():
            alike = [count for count, signed in zip(counts, self._signed[k], strict=True) if signed == signature]
            self._model.add(kept <= cp_model.LinearExpr.sum(alike))

    def _purchase(self, k: int, bought: Purchased, start: Mapping[Pattern, int]) -> None:
        """Buy the sticks that are cut, together: with the first delivery, for prices fall and cartons are shared."""
        pool, rows = self._pools[k], range(len(bought.terms.lengths))
        most = sum(piece.demand for piece in pool.problem.pieces)
        part = Part(self._model, bought.terms, Kinds(tuple(rows), (0,) * len(rows)), most)
        for row in rows:
            pairs = zip(pool.patterns, self._counts[k], strict=True)
            self._model.add(part.cut[row] >= cp_model.LinearExpr.sum([n for p, n in pairs if p.stick == row]))
        bill = self._bills[k] = self._model.new_int_var(0, MOST_BILL, "")
        self._model.add(bill == part.goods + part.fixed)
        self._values[bill.index] = pool.week.objective(start)[1]

    def _start(self, k: int, start: Mapping[Pattern, int]) -> None:
        pool = self._pools[k]
        made: Counter[int] = Counter()
        for pattern, count in zip(pool.patterns, self._counts[k], strict=True):
            times = start.get(pattern, 0)
            self._values[count.index] = times
            for i in pattern.pieces:
                made[i] += times
        for i, variable in enumerate(self._uncut[k]):
            self._values[variable.index] = max(0, pool.problem.pieces[i].demand - made[i])
        begun: Counter[Signature] = Counter()
        for pattern, signed in zip(pool.patterns, self._signed[k], strict=True):
            begun[signed] += start.get(pattern, 0)
        for signature, kept in self._kept[k].items():
            self._values[kept.index] = min(begun[signature], pool.week.announced[signature])

    def _limit_carried(self, van: Van) -> None:
        nights: dict[int, list[cp_model.LinearExprT]] = {}
        for pool, counts in zip(self._pools, self._counts, strict=True):
            for pattern, count in zip(pool.patterns, counts, strict=True):
                for night in pool.problem.nights(pattern):
                    nights.setdefault(night, []).append(count)
        for night, carried in nights.items():
            if night in van:
                self._model.add(cp_model.LinearExpr.sum(carried) <= van[night])

    def bill(self) -> list[Goal]:
        """Return the goals that come first: length uncut, money, and length where stock has no price."""
        uncut = [
            (v, piece.length)
            for pool, variables in zip(self._pools, self._uncut, strict=True)
            for v, piece in zip(variables, pool.problem.pieces, strict=True)
        ]
        return [uncut, self._costs(money=True), self._costs(money=False)]

    def _costs(self, *, money: bool) -> Goal:
        costs: Goal = []
        for k, pool in enumerate(self._pools):
            scale = int(pool.money is money) * (pool.week.cost_scale if money else 1)
            if k in self._bills:
                costs.append((self._bills[k], scale))
            else:
                supplies, pairs = pool.problem.supplies, zip(pool.patterns, self._counts[k], strict=True)
                costs += [(count, scale * supplies[pattern.stick].cost) for pattern, count in pairs]
        return [(variable, weight) for variable, weight in costs if weight]

    def later(self) -> list[Goal]:
        """Return the goals that come after the bill: sticks of the shop cut, offcuts carried, sheets changed."""
        opened = self._weighed(lambda pool, p: pool.week.opens(p))
        carried = self._weighed(lambda pool, p: pool.problem.carried(p))
        return [opened, carried, [(variable, -1) for kept in self._kept for variable in kept.values()]]

    def _weighed(self, weigh: Callable[[ColumnPool, Pattern], int]) -> Goal:
        pairs = (
            (count, weigh(pool, pattern))
            for pool, counts in zip(self._pools, self._counts, strict=True)
            for pattern, count in zip(pool.patterns, counts, strict=True)
        )
        return [(count, weight) for count, weight in pairs if weight]

    def minimise(self, goal: Goal, work: float, floor: int, watch: Watch) -> bool:
        """Bring a goal down towards ``floor`` as far as ``work`` allows, cap it there, and say if it is the least."""
        if not goal:
            return True
        before, value = self._values, self._value(goal)
        proven = value == floor
        if not (proven or watch.stopped):
            self._model.minimize(_sum(goal))
            proven = self._solve(work, watch)
            self._model.clear_objective()  # type: ignore[no-untyped-call]
            if self._value(goal) == value:
                # another choice as good would change what was announced for nothing
                self._values = before
        self.cap(goal)
        return proven

    def cap(self, goal: Goal) -> None:
        """Let a goal get no worse than it is."""
        if goal:
            self._model.add(_sum(goal) <= self._value(goal))

    def _value(self, goal: Goal) -> int:
        return sum(self._values[v.index] * weight for v, weight in goal)

    def _solve(self, work: float, watch: Watch) -> bool:
        self._model.clear_hints()  # type: ignore[no-untyped-call]
        for index, value in self._values.items():
            self._model.add_hint(self._model.get_int_var_from_proto_index(index), value)
        solver = counted(work, watch)
        solver.parameters.linearization_level = 2
        status = watched(solver, self._model, watch)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._values = {i: solver.value(self._model.get_int_var_from_proto_index(i)) for i in self._values}
        return bool(status == cp_model.OPTIMAL)

    def uses(self, k: int) -> Uses:
        """Return how often each pattern of pool ``k`` is cut."""
        pairs = zip(self._pools[k].patterns, self._counts[k], strict=True)
        return Counter({pattern: n for pattern, count in pairs if (n := self._values[count.index])})


def _sum(goal: Goal) -> cp_model.LinearExpr:
    return cp_model.LinearExpr.weighted_sum([v for v, _ in goal], [weight for _, weight in goal])


def _most(pool: ColumnPool, pattern: Pattern) -> int:
    copies = Counter(pattern.pieces)
    most = max(-(-pool.problem.pieces[i].demand // n) for i, n in copies.items())
    limit = pool.problem.supplies[pattern.stick].limit
    return most if limit is None else min(most, limit)
