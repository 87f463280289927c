"""One material of a week: what is wanted and there, how its jobs are cut alone, and what was announced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from solver.cutting import Cutting, Pattern
from solver.demand import cost_step
from solver.materials import Material
from solver.weekly.alone import AloneJob
from solver.weekly.dated import DatedProblem
from solver.weekly.pieces import Pieces, Signature
from solver.weekly.standing import Hand

COST_UNITS = Decimal(10_000)
"""Money is counted in ten-thousandths, the finest that a price may have."""


@dataclass(frozen=True, slots=True)
class MaterialWeek:
    """One material of the week.

    ``start`` is how the jobs alone are cut, ``relaxed`` the answer to the problem as if all were cut on one day, and
    ``announced`` the sticks of the sheets that may still change. A ``fixed`` one is cut just as its jobs are alone.
    """

    material: Material
    hand: Hand
    alone: tuple[AloneJob, ...]
    pieces: Pieces
    problem: DatedProblem
    start: Mapping[Pattern, int]
    relaxed: Cutting
    announced: Mapping[Signature, int]
    fixed: bool

    @property
    def has_runs(self) -> bool:
        """Whether runs longer than a stick are among its items."""
        return any(one.demand.runs for one in self.alone)

    @property
    def cost_scale(self) -> int:
        """How many ten-thousandths of money a step of its cost is."""
        return int(cost_step(self.material) * COST_UNITS)

    @property
    def names(self) -> tuple[str, ...]:
        """What each supply is called in an announced plan, delivered or not."""
        return tuple(f"stock {source.stock}" if source.stock else source.row.id for source in self.hand.sources)

    def signed(self, pattern: Pattern) -> Signature:
        """Return what a pattern is known by in an announced plan."""
        return self.names[pattern.stick], pattern.pieces
