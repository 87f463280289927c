"""What integer duals prove of a part: prices by which no pattern is worth more than its stick, and the gap left.

Let a piece be worth ``v_i``, an arc ``e_a`` and a stick be charged ``m_k`` beside its cost, in parts of
``scale``. A path ending at stick ``k`` has the reduced cost ``scale c_k + m_k - (worth of its pieces and
arcs)``, and with charges high enough no path's is below 0. Summed over the sticks of a plan that cuts every
piece exactly as often as wanted and costs ``target`` at most, they come to

    gap = scale * target + sum m_k n_k - sum v_i d_i - sum e_a f_a

at most, with ``n_k`` and ``f_a`` at whichever of their limits makes it largest. A gap below 0: no such
plan. A path whose own reduced cost exceeds the gap: in no such plan. All whole numbers: rounding the
duals costs some gap, never the proof.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from solver.cutting.certificate import Counts
from solver.cutting.flow.graph import Arc
from solver.cutting.pricing import IntVector

NEVER = -(2**60)
"""Stands for minus infinity: sums of values stay far above it."""


@dataclass(frozen=True, slots=True)
class Worth:
    """Duals in whole parts of ``scale``: of pieces, of sticks (``charges``, what one is charged), of single arcs."""

    scale: int
    values: IntVector
    charges: tuple[int, ...]
    arcs: Mapping[Arc, int]

    def prices(self, costs: Sequence[int]) -> tuple[int, ...]:
        """Return what a stick costs and is charged."""
        return tuple(self.scale * cost + charge for cost, charge in zip(costs, self.charges, strict=True))


@dataclass(frozen=True, slots=True)
class Question:
    """Whether a plan of at most ``target`` exists, with these counts of sticks and flows on arcs."""

    demands: Sequence[int]
    costs: Sequence[int]
    counts: Counts
    flows: Mapping[Arc, tuple[int, int | None]]
    target: int


@dataclass(frozen=True, slots=True)
class Fair:
    """Prices by which no path is worth more than its stick, and the gap; None where a stick is free without limit."""

    prices: tuple[int, ...]
    gap: int | None

    @property
    def hopeless(self) -> bool:
        """Whether there is no plan within the target."""
        return self.gap is not None and self.gap < 0

    @property
    def least(self) -> int:
        """What a path of a plan within the target collects at least, beyond its price: 0 or less."""
        return NEVER // 2 if self.gap is None else -min(self.gap, -NEVER // 2)


def fair(question: Question, worth: Worth, best: Sequence[int]) -> Fair:
    """Make duals fair; ``best[k]``: no path that ends at stick ``k`` collects more, ``NEVER`` where there is none."""
    scale = _fair_scale(question, best, worth.scale)
    charges = _charges(question, best, worth, scale)
    prices = Worth(scale, worth.values, charges, {}).prices(question.costs)
    return Fair(prices, _gap(question, worth, charges, scale * question.target) if scale else None)


def _fair_scale(question: Question, best: Sequence[int], scale: int) -> int:
    """Return the scale, raised until no unlimited stick holds more than it costs (Farley 1990); 0 where none does."""
    for most, cost, top in zip(question.counts.most, question.costs, best, strict=True):
        if most is None and top > 0:
            scale = max(scale, -(-top // cost)) if cost and scale else 0
    return scale


def _charges(question: Question, best: Sequence[int], worth: Worth, scale: int) -> tuple[int, ...]:
    """Return the charges asked for, raised until no path has a reduced cost below 0."""
    raised = []
    for asked, cost, most, top in zip(worth.charges, question.costs, question.counts.most, best, strict=True):
        charge = max(asked, top - scale * cost) if top > NEVER else asked
        raised.append(min(charge, 0) if most is None else charge)
    return tuple(raised)


def _gap(question: Question, worth: Worth, charges: Sequence[int], total: int) -> int:
    total -= sum(int(v) * d for v, d in zip(worth.values, question.demands, strict=True))
    for charge, least, most in zip(charges, question.counts.least, question.counts.most, strict=True):
        total += charge * (least if charge < 0 or most is None else most)
    for arc, amount in worth.arcs.items():
        least, most = question.flows[arc]
        total -= amount * (least if amount > 0 or most is None else most)
    return total
