"""Which of the dated patterns known are cut, and how often: an integer program, goal after goal.

Least length uncut, least cost (money, then length where stock has no prices), fewest offcuts carried, fewest
announced sticks changed; the van's limit holds over all materials together. Solved by CP-SAT with one worker and
counted work, so the same week gives the same plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from threading import Timer

from ortools.sat.python import cp_model

from solver.cutting.problem import Cutting, Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.day_cutting import DayCutting, Uses
from solver.weekly.pieces import Signature

WORK = (1.0, 0.4, 0.4)
"""CP-SAT's deterministic seconds for each goal of the bill: uncut, money, length."""
LATER_WORK = (0.2, 0.2)
"""The same for what may only then be made less: offcuts carried, announced sticks changed."""

Goal = list[tuple[cp_model.IntVar, int]]
"""A sum to be made small: variables with what they weigh."""


@dataclass(frozen=True, slots=True)
class Pool:
    """One material's choice: its problem, the patterns to choose from, plans to begin with, what was announced.

    The first of ``starts`` carries nothing. ``names`` says what each supply is called in ``announced``. ``relaxed`` is
    the answer to the problem as if all were cut on one day, which no plan undercuts. ``cost_scale`` makes costs of
    different materials whole numbers of one unit; ``money`` tells them from lengths. ``complete`` says whether no
    other pattern is allowed.
    """

    problem: DatedProblem
    patterns: Sequence[Pattern]
    starts: Sequence[Mapping[Pattern, int]]
    relaxed: Cutting
    announced: Mapping[Signature, int]
    names: Sequence[str]
    cost_scale: int
    money: bool
    complete: bool

    @property
    def floor(self) -> int:
        """What no plan that cuts everything costs less than, in cost steps."""
        return self.relaxed.bound if self.relaxed.least_uncut and not any(self.relaxed.uncut) else 0

    def signed(self, pattern: Pattern) -> Signature:
        """Return what a pattern is known by in an announced plan."""
        return self.names[pattern.stick], pattern.pieces

    def with_patterns(self, more: Iterable[Pattern]) -> Pool:
        """Return the pool with more patterns to choose from."""
        return replace(self, patterns=list(dict.fromkeys((*self.patterns, *more))))

    def lightened(self, uses: Mapping[Pattern, int], watch: Watch) -> Uses:
        """Return a plan as good that carries no offcut which saves nothing, and cuts no piece too often."""
        exact = self.problem.trimmed(uses)
        lighter = DayCutting(self.problem, watch).lightened(exact)
        return lighter if self._carried(lighter) < self._carried(exact) else Counter(exact)

    def _carried(self, uses: Mapping[Pattern, int]) -> int:
        return sum(self.problem.carried(pattern) * times for pattern, times in uses.items())


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
    model = _Model(pools, starts, van)
    floors = (0, *(_floor(pools, money=money) for money in (True, False)))
    proven = [
        model.minimise(goal, work, floor, watch) for goal, work, floor in zip(model.bill(), WORK, floors, strict=True)
    ]
    lighter = [pool.lightened(model.uses(k), watch) for k, pool in enumerate(pools)]
    return Choice(_fewest(pools, lighter, van, watch), all(proven))


def _fewest(pools: Sequence[Pool], starts: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch) -> tuple[Uses, ...]:
    """Return a choice that is no dearer than the starts, carries no more, and changes as little as can be."""
    model = _Model([pool.with_patterns(start) for pool, start in zip(pools, starts, strict=True)], starts, van)
    for goal in model.bill():
        model.cap(goal)
    unchanged = -sum(count for pool in pools for count in pool.announced.values())
    for goal, work, floor in zip(model.later(), LATER_WORK, (0, unchanged), strict=True):
        model.minimise(goal, work, floor, watch)
    return tuple(Counter(pool.problem.trimmed(model.uses(k))) for k, pool in enumerate(pools))


def _floor(pools: Sequence[Pool], *, money: bool) -> int:
    return sum(pool.floor * (pool.cost_scale if money else 1) for pool in pools if pool.money is money)


class _Model:
    def __init__(self, pools: Sequence[Pool], starts: Sequence[Mapping[Pattern, int]], van: Van) -> None:
        self._pools = pools
        self._model = cp_model.CpModel()
        self._counts = [[self._model.new_int_var(0, _most(pool, p), "") for p in pool.patterns] for pool in pools]
        self._uncut = [[self._model.new_int_var(0, p.demand, "") for p in pool.problem.pieces] for pool in pools]
        self._signed = [[pool.signed(pattern) for pattern in pool.patterns] for pool in pools]
        self._kept = [
            {s: self._model.new_int_var(0, n, "") for s, n in pool.announced.items() if s in set(signed)}
            for pool, signed in zip(pools, self._signed, strict=True)
        ]
        self._values: dict[int, int] = {}
        for k in range(len(pools)):
            self._demand(k)
            self._start(k, starts[k])
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
            self._values[kept.index] = min(begun[signature], pool.announced[signature])

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
        money = self._weighed(lambda pool, p: pool.money * pool.cost_scale * pool.problem.supplies[p.stick].cost)
        length = self._weighed(lambda pool, p: (not pool.money) * pool.problem.supplies[p.stick].cost)
        return [uncut, money, length]

    def later(self) -> list[Goal]:
        """Return the goals that come after the bill: offcuts carried, announced sticks changed."""
        carried = self._weighed(lambda pool, p: pool.problem.carried(p))
        return [carried, [(variable, -1) for kept in self._kept for variable in kept.values()]]

    def _weighed(self, weigh: Callable[[Pool, Pattern], int]) -> Goal:
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
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_deterministic_time = work
        solver.parameters.max_time_in_seconds = max(0.01, watch.left)
        solver.parameters.linearization_level = 2
        status = _watched(solver, self._model, watch)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._values = {i: solver.value(self._model.get_int_var_from_proto_index(i)) for i in self._values}
        return bool(status == cp_model.OPTIMAL)

    def uses(self, k: int) -> Uses:
        """Return how often each pattern of pool ``k`` is cut."""
        pairs = zip(self._pools[k].patterns, self._counts[k], strict=True)
        return Counter({pattern: n for pattern, count in pairs if (n := self._values[count.index])})


def _sum(goal: Goal) -> cp_model.LinearExpr:
    return cp_model.LinearExpr.weighted_sum([v for v, _ in goal], [weight for _, weight in goal])


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


def _watched(solver: cp_model.CpSolver, model: cp_model.CpModel, watch: Watch) -> object:
    """Solve, and stop within a second once the watch says so."""
    over: list[bool] = []

    def look() -> None:
        if watch.stopped:
            solver.stop_search()
        elif not over:
            timer = Timer(0.5, look)
            timer.daemon = True
            timer.start()

    look()
    status = solver.solve(model)
    over.append(True)
    return status


def _most(pool: Pool, pattern: Pattern) -> int:
    copies = Counter(pattern.pieces)
    most = max(-(-pool.problem.pieces[i].demand // n) for i, n in copies.items())
    limit = pool.problem.supplies[pattern.stick].limit
    return most if limit is None else min(most, limit)
