"""The column pool of each material: the patterns to choose from, and plans for all materials at once to begin with.

Where a material has few patterns they are enumerated, and the choice from them is the least there is. Otherwise
patterns come from plans: each day by itself, each job by itself, what dives find
(``generation``), and the linear program they begin from.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.day_cutting import DayCutting, Uses
from solver.weekly.material_week import MaterialWeek
from solver.weekly.patterns.generation import Generation, JointBound, MasterSolution, Part, joint_bound
from solver.weekly.timed import Residual, Supply, TimedProblem, Van

ENUMERATION_STEPS = 4_000
"""Steps spent on listing every pattern; where that is not enough they are generated."""
LENGTH_WEIGHT = 0.05
"""What a stick without a price weighs in the linear program beside the dearest that has one: money comes first."""
Plan = list[Uses]
"""How often each pattern is cut, material by material."""


class TooManyPatterns(Exception):
    """There are more patterns, or more steps to find them, than allowed."""


def enumerate_patterns(problem: TimedProblem, steps: int) -> list[Pattern]:
    """List every allowed pattern that holds no piece oftener than wanted. ``TooManyPatterns`` beyond ``steps``."""
    order = sorted(range(len(problem.pieces)), key=lambda i: (problem.pieces[i].day, -problem.pieces[i].length))
    walk = _Walk(problem, order, steps)
    return [
        pattern
        for place, supply in enumerate(problem.supplies)
        if supply.limit != 0
        for chosen in walk.fill(supply, 0, problem.taken(supply.length), [])
        if problem.allowed(pattern := Pattern(place, tuple(sorted(chosen))))
    ]


class _Walk:
    def __init__(self, problem: TimedProblem, order: list[int], steps: int) -> None:
        self._problem, self._order, self._steps = problem, order, steps
        self._carry_from = problem.taken(problem.shortest)

    def fill(self, supply: Supply, start: int, room: int, chosen: list[int]) -> Iterator[list[int]]:
        """Yield every way to go on from the pieces chosen, in the order of days."""
        self._steps -= 1
        if self._steps < 0:
            raise TooManyPatterns
        if chosen:
            yield list(chosen)
        for at in range(start, len(self._order)):
            i = self._order[at]
            piece = self._problem.pieces[i]
            later = bool(chosen) and piece.day > self._problem.pieces[chosen[-1]].day
            if piece.day < supply.first or (later and room < self._carry_from):
                continue
            most = min(piece.demand, 1 if piece.left or piece.right else piece.demand)
            for n in range(1, most + 1):
                left = room - n * self._problem.taken(piece.length)
                if left < 0:
                    break
                yield from self.fill(supply, at + 1, left, [*chosen, *[i] * n])


@dataclass(frozen=True, slots=True)
class ColumnPool:
    """One material's choice: its ``week``, the patterns to choose from, and plans to begin with.

    The first of ``starts`` carries nothing. ``complete`` says whether no other pattern is allowed. ``days_alone`` is
    what no plan that cuts everything costs less than because nothing can be carried, 0 where something can.
    """

    week: MaterialWeek
    patterns: Sequence[Pattern]
    starts: Sequence[Mapping[Pattern, int]]
    complete: bool
    days_alone: int = 0

    @property
    def problem(self) -> TimedProblem:
        """The week of the material in plain integers."""
        return self.week.problem

    @property
    def money(self) -> bool:
        """Whether its costs are money; else they are lengths."""
        return self.week.material.priced

    @property
    def floor(self) -> int:
        """What no plan that cuts everything costs less than, in cost steps."""
        relaxed = self.week.relaxed
        return max(self.days_alone, relaxed.bound if relaxed.least_uncut and not any(relaxed.uncut) else 0)

    def with_patterns(self, more: Iterable[Pattern]) -> ColumnPool:
        """Return the pool with more patterns to choose from."""
        return replace(self, patterns=list(dict.fromkeys((*self.patterns, *more))))

    def without_useless_carries(self, uses: Mapping[Pattern, int], watch: Watch) -> Uses:
        """Return a plan as good that carries no offcut which saves nothing, and cuts no piece too often."""
        exact = self.problem.trimmed(uses)
        lighter = DayCutting(self.problem, watch).without_useless_carries(exact)
        fewer = self._carried(lighter) < self._carried(exact) and self._opened(lighter) <= self._opened(exact)
        return lighter if fewer else Counter(exact)

    def keeping_announced(self, uses: Mapping[Pattern, int], watch: Watch) -> Uses:
        """Return a plan as good that keeps to what was announced of each day, as far as that costs nothing."""
        signed = {self.week.signed(pattern): pattern for pattern in self.patterns}
        known = {signed[name]: count for name, count in self.week.announced.items() if name in signed}
        return DayCutting(self.problem, watch).keeping_announced(uses, known)

    def _opened(self, uses: Mapping[Pattern, int]) -> int:
        return sum(self.week.opens(pattern) * times for pattern, times in uses.items())

    def _carried(self, uses: Mapping[Pattern, int]) -> int:
        return sum(self.problem.carried(pattern) * times for pattern, times in uses.items())


@dataclass(frozen=True, slots=True)
class ColumnPools:
    """A pool for each material, plans for all of them at once, and whether the van is what keeps them from better.

    The first of ``plans`` carries nothing. ``bound`` is None where none is known.
    """

    pools: tuple[ColumnPool, ...]
    plans: tuple[Plan, ...]
    van_is_tight: bool
    bound: JointBound | None


def column_pools(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> ColumnPools:
    """Return what there is to choose from for these materials, in a van they share."""
    enumerated = [_enumerated(week.problem) for week in weeks]
    cutting = [DayCutting(week.problem, watch) for week in weeks]
    plans: list[Plan] = [
        [days.filled({}) for days in cutting],
        [days.filled(week.start) for days, week in zip(cutting, weeks, strict=True)],
    ]
    solution = None
    if None in enumerated:
        known = [_patterns(own, plans, k) for k, own in enumerate(enumerated)]
        generation = Generation(_parts(weeks), known, van, watch.within(watch.left / 2))
        plans += [[days.filled(uses) for days, uses in zip(cutting, plan, strict=True)] for plan in generation.dives()]
        solution = generation.solution
    pools = [_pool(week, own, plans, k, solution) for k, (week, own) in enumerate(zip(weeks, enumerated, strict=True))]
    if van and not any(van.values()):
        pools = [replace(pool, days_alone=days.least()) for pool, days in zip(pools, cutting, strict=True)]
    tight = solution is not None and any(any(duals.nights.values()) for duals in solution.duals)
    return ColumnPools(tuple(pools), tuple(plans), tight, joint_bound(weeks, solution, van) if solution else None)


def priced(
    weeks: Sequence[MaterialWeek], plan: Sequence[Mapping[Pattern, int]], van: Van, watch: Watch
) -> JointBound | None:
    """Return what the linear program over all patterns says no plan costs less than, begun from those of a plan."""
    solution = Generation(_parts(weeks), plan, van, watch).solution
    return joint_bound(weeks, solution, van) if solution else None


def _enumerated(problem: TimedProblem) -> list[Pattern] | None:
    try:
        return enumerate_patterns(problem, ENUMERATION_STEPS)
    except TooManyPatterns:
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


def announced_plan(weeks: Sequence[MaterialWeek], van: Van, watch: Watch) -> Plan:
    """Return what was announced as far as it can still be cut, and each day's rest by itself."""
    room = dict(van)
    return [DayCutting(week.problem, watch).filled(_kept(week, Residual(week.problem, room))) for week in weeks]


def _kept(week: MaterialWeek, left: Residual) -> Uses:
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


def _can(week: MaterialWeek, left: Residual, pattern: Pattern) -> bool:
    return week.problem.allowed(pattern) and left.fits(pattern, 1)


def _patterns(enumerated: list[Pattern] | None, plans: Sequence[Plan], place: int) -> list[Pattern]:
    """Return the patterns listed of a material and those that plans hold, each once."""
    found = (pattern for plan in plans for pattern in plan[place])
    return list(dict.fromkeys([*(enumerated or ()), *found]))


def _pool(
    week: MaterialWeek,
    enumerated: list[Pattern] | None,
    plans: Sequence[Plan],
    place: int,
    solution: MasterSolution | None,
) -> ColumnPool:
    used = [pattern for (part, pattern), _ in solution.uses if part == place] if solution else []
    patterns = list(dict.fromkeys([*_patterns(enumerated, plans, place), *used]))
    return ColumnPool(week, patterns, [plan[place] for plan in plans], enumerated is not None)
