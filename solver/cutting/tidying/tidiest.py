"""The tidiest plan over one pool: goal after goal, each kept as a cap on the next.

Every goal but the number of patterns is first relaxed. Where the relaxation's bound is met nothing is
left to do; else an integer program over the columns nearest to it looks for a better plan. Columns
whose reduced cost exceeds the gap that remains are dropped for good (reduced-cost fixing), so that
the program that counts patterns, the hard one, is small.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from solver.cutting.tidying.arrange import arrange
from solver.cutting.tidying.pool import Aim, IntMatrix, Pool
from solver.cutting.tidying.recombine import recombine
from solver.cutting.tidying.relax import Relaxation, relax
from solver.cutting.tidying.tidiness import GOALS, Uses
from solver.watch import Watch

WORK = {"scrap": 8_000, "kept": 8_000, "patterns": 8_000, "cuts": 3_000}
"""Nodes times columns in the integer program of each goal."""

COLUMNS = 1_000
"""Columns in one integer program, at most."""

PATTERN_COLUMNS = 300
"""Where patterns are counted, the program is only tried with so many columns or fewer."""


@dataclass(frozen=True, slots=True)
class Tidiest:
    """The tidiest plan found, and for each goal whether no plan over the pool does better with those before it kept."""

    uses: Uses
    least: dict[str, bool]


def tidiest(pool: Pool, uses: Uses, cost: int, watch: Watch) -> Tidiest:
    """Return the tidiest plan found over the pool that costs at most ``cost``, begun from ``uses``."""
    search = _Search(pool, pool.counts(uses), {"cost": cost}, watch)
    for goal in GOALS:
        if not watch.stopped:
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

    def pursue(self, goal: str) -> None:
        """Bring one goal as low as may be, cap it there, and drop the columns that are now too far off."""
        aim = Aim(goal, dict(self.caps))
        bounded = self._relaxed(goal)
        near = self._near(bounded.reduced)
        solved = self._gap(goal, bounded) < 1
        if not solved and (not aim.counts_patterns or near.sum() <= PATTERN_COLUMNS):
            found = arrange(self.pool.only(near), aim, self.counts[near], WORK[goal], self.watch)
            self.counts[near] = found.counts
            solved = found.least
        if not solved and goal == "patterns":
            self.counts = recombine(self.pool, self.counts, aim, self.watch)
        self.caps[goal] = self.pool.total(goal, self.counts)
        useful = (bounded.reduced <= self._gap(goal, bounded)) | (self.counts > 0)
        kept = useful if useful.sum() <= COLUMNS else useful & near
        self.whole &= bool((kept == useful).all())
        self.least[goal] = solved and self.whole
        self.pool, self.counts = self.pool.only(kept), self.counts[kept]

    def _relaxed(self, goal: str) -> Relaxation:
        if goal == "patterns":
            return Relaxation(1.0, np.zeros(len(self.counts)))
        caps = {name: cap for name, cap in self.caps.items() if name != "patterns"}
        return relax(self.pool, Aim(goal, caps), self.counts)

    def _gap(self, goal: str, bounded: Relaxation) -> float:
        """How far above its bound the goal is; under 1 is met, since all totals are whole numbers."""
        return self.pool.total(goal, self.counts) - bounded.bound

    def _near(self, reduced: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Mark the columns of least reduced cost, no more than ``COLUMNS``, and all those in use."""
        near = self.counts > 0
        near[np.argsort(reduced, kind="stable")[:COLUMNS]] = True
        return near
