"""Equal cost is not equal: the tidiest cutting among those that cost no more.

In this order: least scrap, fewest kept offcuts, fewest different patterns, fewest cuts. First a pool of patterns is
gathered (``gather``), every proper one if there are not too many, else those that a tidier plan can contain; then each
goal is pursued over the pool, kept as a cap on the next, from the plan in hand, so that the answer is never worse than
what came in. A plan that might cut more is left as it is: made tidier, it could leave a stick idle that a piece left
uncut would fit.

Every goal but the number of patterns is first relaxed. Where the relaxation's bound is met nothing is left to do; else
an integer program over the columns nearest to it looks for a better plan. Columns whose reduced cost exceeds the gap
that remains are dropped for good (reduced-cost fixing), so that the program that counts patterns, the hard one, is
small.

Offcuts on hand that are alike (``Alike``) count as one kind of stick: cut alike they are one pattern, whichever is
taken. Very long lists are tidied part by part (``by_parts``): some patterns at a time, as a small problem of their own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import Cutting, CuttingProblem, Pattern
from solver.cutting.tidying.gather import gather
from solver.cutting.tidying.pool import GOALS, Aim, IntMatrix, OutOfTime, Pool, Uses, go_on, likeness
from solver.cutting.tidying.programs import Bounded, arrange, reach, recombine, relax
from solver.watch import Watch

MOST_KINDS = 400
"""With more kinds of pieces a plan is tidied part by part."""


def tidy(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Cutting:
    """Return the tidiest cutting found that costs no more and leaves the same pieces uncut."""
    uses = tidied(problem, cutting, watch).uses
    cost = problem.total(uses)
    return replace(cutting, uses=uses, cost=cost)


def tidied(problem: CuttingProblem, cutting: Cutting, watch: Watch) -> Tidiest:
    """Do as ``tidy`` does, and say which goals are proven."""
    more = any(cutting.uncut) and not cutting.least_uncut
    if not cutting.uses or more or watch.stopped:
        return Tidiest(cutting.uses, dict.fromkeys(GOALS, False))
    cut = (replace(p, demand=p.demand - left) for p, left in zip(problem.pieces, cutting.uncut, strict=True))
    alike = Alike.of(replace(problem, pieces=tuple(cut)))
    uses = alike.joined(cutting.uses)
    if sum(piece.demand > 0 for piece in alike.problem.pieces) > MOST_KINDS:
        parts = by_parts(alike.problem, uses, lambda part, plan, given: _tidied(part, plan, given).uses, watch)
        best = Tidiest(parts, dict.fromkeys(GOALS, False))
    else:
        best = _tidied(alike.problem, uses, watch)
    return replace(best, uses=alike.dealt(best.uses))


def _tidied(problem: CuttingProblem, uses: Uses, watch: Watch) -> Tidiest:
    """Tidy a plan that cuts all of ``problem``."""
    try:
        gathered = gather(problem, uses, watch)
    except OutOfTime:
        return Tidiest(uses, dict.fromkeys(GOALS, False))
    best = tidiest(gathered.pool, gathered.uses, watch)
    return best if gathered.complete else replace(best, least=dict.fromkeys(GOALS, False))


PATTERNS = 40
"""Patterns in one part."""
PARTS = 6
"""Parts tidied."""
Tidier = Callable[[CuttingProblem, Uses, Watch], Uses]
"""From a problem and a plan that cuts all of it to a tidier plan."""


@dataclass(frozen=True, slots=True)
class Alike:
    """A problem with such sticks joined; ``kinds[k]`` is the joined kind of the original stick ``k``."""

    original: CuttingProblem
    problem: CuttingProblem
    kinds: tuple[int, ...]

    @classmethod
    def of(cls, problem: CuttingProblem) -> Alike:
        """Join the limited sticks that cost nothing and have the same length and ends."""
        first: dict[object, int] = {}
        kinds = [first.setdefault(likeness(problem, k), len(first)) for k in range(len(problem.sticks))]
        joined = {kind: problem.sticks[k] for k, kind in reversed(list(enumerate(kinds)))}
        limits = Counter[int]()
        for stick, kind in zip(problem.sticks, kinds, strict=True):
            limits[kind] += stick.limit or 0
        sticks = (
            joined[n] if joined[n].limit is None else replace(joined[n], limit=limits[n]) for n in range(len(first))
        )
        return cls(problem, replace(problem, sticks=tuple(sticks)), tuple(kinds))

    def joined(self, uses: Uses) -> Uses:
        """Return a plan of the original problem as one of the joined."""
        counts = Counter[Pattern]()
        for pattern, count in uses:
            counts[replace(pattern, stick=self.kinds[pattern.stick])] += count
        return tuple(sorted(counts.items()))

    def dealt(self, uses: Uses) -> Uses:
        """Return a plan of the joined problem as one of the original, the first sticks of a kind taken first."""
        left = [stick.limit for stick in self.original.sticks]
        dealt: list[tuple[Pattern, int]] = []
        for pattern, count in uses:
            wanted = count
            for k in (k for k, kind in enumerate(self.kinds) if kind == pattern.stick):
                most = left[k]
                taken = wanted if most is None else min(wanted, most)
                left[k] = None if most is None else most - taken
                wanted -= taken
                if taken:
                    dealt.append((replace(pattern, stick=k), taken))
        return tuple(sorted(dealt))


def by_parts(problem: CuttingProblem, uses: Uses, tidier: Tidier, watch: Watch) -> Uses:
    """Return a plan that cuts the same at the same cost, no less tidy."""
    plan = Counter(dict(uses))
    for start in range(0, min(len(uses), PARTS * PATTERNS), PATTERNS):
        if watch.stopped:
            break
        part = uses[start : start + PATTERNS]
        plan.subtract(dict(part))
        small = _Part.of(problem, part, plan)
        plan.update(dict(small.back(tidier(small.problem, small.uses, watch))))
    return tuple(sorted((pattern, count) for pattern, count in plan.items() if count))


@dataclass(frozen=True, slots=True)
class _Part:
    """A problem of only the pieces in some patterns; ``pieces[i]`` is the original of its piece ``i``."""

    problem: CuttingProblem
    uses: Uses
    pieces: tuple[int, ...]

    @classmethod
    def of(cls, problem: CuttingProblem, uses: Uses, others: Counter[Pattern]) -> _Part:
        """Take what these patterns cut, and the sticks that the ``others`` leave."""
        made = Counter[int]()
        for pattern, count in uses:
            made.update({i: n * count for i, n in Counter(pattern.pieces).items()})
        taken = Counter[int]()
        for pattern, count in others.items():
            taken[pattern.stick] += count
        pieces = tuple(sorted(made))
        place = {i: n for n, i in enumerate(pieces)}
        small = replace(
            problem,
            pieces=tuple(replace(problem.pieces[i], demand=made[i]) for i in pieces),
            sticks=tuple(
                stick if stick.limit is None else replace(stick, limit=stick.limit - taken[k])
                for k, stick in enumerate(problem.sticks)
            ),
        )
        return cls(small, tuple((_renamed(p, place.__getitem__), count) for p, count in uses), pieces)

    def back(self, uses: Uses) -> Uses:
        """Return a plan of the part in the original's pieces."""
        return tuple((_renamed(pattern, self.pieces.__getitem__), count) for pattern, count in uses)


def _renamed(pattern: Pattern, name: Callable[[int], int]) -> Pattern:
    return replace(pattern, pieces=tuple(map(name, pattern.pieces)))


WORK = {"scrap": 12_000, "kept": 10_000, "patterns": 6_000, "cuts": 3_000}
"""Nodes times columns in the integer program of each goal."""

RICH = 20
"""All of it where one part in so many of the total is above its bound or more, in proportion where it is less."""

LONG_WORK = 20_000
"""The same for the number of patterns where columns are few."""

NEAR = (40, 300, 1_000)
"""Columns in the first integer program of a goal, and in the next if one can't settle it.

Some forty of least reduced cost nearly always hold a plan that meets the bound, if there is one.
"""

COLUMNS = 1_000
"""Columns kept for the goals after."""

TIED = 45
"""Columns looked through for fewer cuts: with patterns counted beside, many take long and seldom bring anything."""

REACHED = range(45, 200)
"""So many columns are looked at one by one before patterns are counted: fewer are searched as soon as that is done."""

SOME, FEW = 300, 120
"""Where patterns are counted: columns up to which all are searched at once, and searched for long."""


@dataclass(frozen=True, slots=True)
class Tidiest:
    """The tidiest plan found, and for each goal whether no plan over the pool does better with those before it kept."""

    uses: Uses
    least: dict[str, bool]


def tidiest(pool: Pool, uses: Uses, watch: Watch) -> Tidiest:
    """Return the tidiest plan found over the pool that costs no more than ``uses``, from which it begins."""
    counts = pool.counts(uses)
    search = _Search(pool, counts, {"cost": pool.total("cost", counts)}, watch)
    with suppress(OutOfTime):
        search.drop_dear()
        for goal in GOALS:
            search.pursue(goal)
    return Tidiest(search.pool.uses(search.counts), search.least)


@dataclass(slots=True)
class _Search:
    pool: Pool
    counts: IntMatrix
    caps: dict[str, int]
    watch: Watch
    least: dict[str, bool] = field(default_factory=lambda: dict.fromkeys(GOALS, False))
    whole: bool = True
    """Whether no column was dropped that a tidier plan might hold."""

    def drop_dear(self) -> None:
        """Drop the columns that no plan within the cost can hold."""
        bounded = relax(self.pool, Aim("cost", {}), self.counts, self.watch)
        kept = (bounded.reduced <= self.caps["cost"] - bounded.bound) | (self.counts > 0)
        self.pool, self.counts = self.pool.only(kept), self.counts[kept]

    def pursue(self, goal: str) -> None:
        """Bring one goal as low as may be, cap it there, and drop the columns that are now too far off."""
        go_on(self.watch)
        bounded = self._relaxed(goal)
        solved = self._improve(Aim(goal, dict(self.caps)), bounded)
        self.caps[goal] = self.pool.total(goal, self.counts)
        useful = self._useful(goal, bounded)
        kept = useful & self._near(bounded.reduced, COLUMNS)
        self.whole &= bool((kept == useful).all())
        self.least[goal] = solved and self.whole
        self.pool, self.counts = self.pool.only(kept), self.counts[kept]

    def _improve(self, aim: Aim, bounded: Bounded) -> bool:
        """Look for a plan closer to the aim, and say whether it is shown that none is closer."""
        if self._met(aim.name, bounded):
            return True
        if aim.name == "patterns":
            return self._fewest_patterns(aim)
        if aim.counts_patterns:
            return len(self.counts) <= FEW and self._among_near(aim, bounded, TIED, self._work(aim.name, bounded))
        return self._closest(aim, bounded)

    def _closest(self, aim: Aim, bounded: Bounded) -> bool:
        """Search among few columns first, then among more if there are more that might do better."""
        work = self._work(aim.name, bounded)
        for columns in NEAR:
            if self._among_near(aim, bounded, columns, work):
                return True
            if columns >= np.count_nonzero(self._useful(aim.name, bounded)):
                return False
        return False

    def _among_near(self, aim: Aim, bounded: Bounded, columns: int, work: int) -> bool:
        """Search among so many ``columns``, and say whether no plan over any is closer to the aim."""
        near = self._near(bounded.reduced, columns) & self._useful(aim.name, bounded)
        found = arrange(self.pool.only(near), aim, self.counts[near], work, self.watch)
        self.counts[near] = found.counts
        beyond = (self._useful(aim.name, bounded) & ~near).any()
        return self._met(aim.name, bounded) or (found.least and not beyond)

    def _fewest_patterns(self, aim: Aim) -> bool:
        """Search all columns at once, for long if they are few, else the patterns in use in groups too."""
        columns = len(self.counts)
        if columns <= SOME and self._solved(aim, LONG_WORK if columns <= FEW else WORK[aim.name]):
            return True
        self.counts = recombine(self.pool, self.counts, aim, self.watch)
        return False

    def _solved(self, aim: Aim, work: int) -> bool:
        """Search all columns, and say whether no plan over them is closer to the aim."""
        found = arrange(self.pool, aim, self.counts, work, self.watch)
        self.counts = found.counts
        return found.least

    def _work(self, goal: str, bounded: Bounded) -> int:
        """Return the work worth doing for what can still be gained."""
        total = self.pool.total(goal, self.counts)
        return int(WORK[goal] * min(1.0, RICH * (total - bounded.bound) / max(1, total)))

    def _relaxed(self, goal: str) -> Bounded:
        if goal == "patterns":
            if len(self.counts) in REACHED:
                self._drop_unreached()
            return Bounded(1.0, np.zeros(len(self.counts)))
        caps = {name: cap for name, cap in self.caps.items() if name != "patterns"}
        return relax(self.pool, Aim(goal, caps), self.counts, self.watch)

    def _drop_unreached(self) -> None:
        """Note how often each column can be cut in a plan within the caps, and drop those that can't."""
        most = reach(self.pool, self.caps, self.counts, self.watch)
        self.pool, self.counts = replace(self.pool, reach=most).only(most > 0), self.counts[most > 0]

    def _met(self, goal: str, bounded: Bounded) -> bool:
        """Whether the goal is within less than a step of its bound."""
        return self.pool.total(goal, self.counts) - bounded.bound < self.pool.step(goal)

    def _useful(self, goal: str, bounded: Bounded) -> NDArray[np.bool_]:
        """Mark the columns that can be in a plan no worse than this one, and those in use."""
        gap = self.pool.total(goal, self.counts) - bounded.bound
        return (bounded.reduced <= gap) | (self.counts > 0)

    def _near(self, reduced: NDArray[np.float64], columns: int) -> NDArray[np.bool_]:
        """Mark so many ``columns`` of least reduced cost, and all those in use."""
        near = self.counts > 0
        near[np.argsort(reduced, kind="stable")[:columns]] = True
        return near
