"""The tidiest plan over one pool: goal after goal, each kept as a cap on the next.

Every goal but the number of patterns is first relaxed. Where the relaxation's bound is met nothing is
left to do; else an integer program over the columns nearest to it looks for a better plan. Columns
whose reduced cost exceeds the gap that remains are dropped for good (reduced-cost fixing), so that
the program that counts patterns, the hard one, is small.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from solver.cutting.tidying.arrange import arrange, recombine
from solver.cutting.tidying.pool import GOALS, Aim, IntMatrix, OutOfTime, Pool, Uses, go_on
from solver.cutting.tidying.relax import Bounded, relax
from solver.watch import Watch

WORK = {"scrap": 12_000, "kept": 10_000, "patterns": 3_000, "cuts": 3_000}
"""Nodes times columns in the integer program of each goal."""

RICH = 20
"""All of it where one part in so many of the total is above its bound or more, in proportion where it is less."""

LONG_WORK = 10_000
"""The same for the number of patterns where columns are few."""

NEAR = (300, 1_000)
"""Columns in the first integer program of a goal, and in the second if the first can't settle it."""

COLUMNS = 1_000
"""Columns kept for the goals after."""

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
            return len(self.counts) <= FEW and self._solved(aim, self._work(aim.name, bounded))
        return self._closest(aim, bounded)

    def _closest(self, aim: Aim, bounded: Bounded) -> bool:
        """Search among few columns first, then among more if there are more that might do better."""
        work = self._work(aim.name, bounded)
        for columns in NEAR:
            near = self._near(bounded.reduced, columns)
            found = arrange(self.pool.only(near), aim, self.counts[near], work, self.watch)
            self.counts[near] = found.counts
            if not (self._useful(aim.name, bounded) & ~near).any():
                return found.least
        return self._met(aim.name, bounded)

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
            return Bounded(1.0, np.zeros(len(self.counts)))
        caps = {name: cap for name, cap in self.caps.items() if name != "patterns"}
        return relax(self.pool, Aim(goal, caps), self.counts, self.watch)

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
