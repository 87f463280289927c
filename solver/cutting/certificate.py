"""A lower bound anyone can check: values of pieces, and what the best pattern of each stick is worth.

Lagrangian bound (Geoffrion 1974) with Farley's scaling (1990): if no pattern of stick ``k`` is worth
more than ``ceilings[k]`` and piece ``i`` is worth ``values[i]``, both in parts of ``scale`` to a unit of
cost, then a plan with ``n_k`` sticks costs at least

    (sum demand * value - sum n_k * (ceiling_k - scale * cost_k)) / scale.

Sticks without limit must not be worth more than they cost; raising ``scale`` until that holds is
Farley's bound. All of it is whole numbers: no float decides anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.cutting.problem import Stick


@dataclass(frozen=True, slots=True)
class Certificate:
    """Values that prove that no plan within the limits costs less than ``net / scale``.

    All pieces together are worth ``worth``, no pattern of stick ``k`` more than ``ceilings[k]``.
    """

    scale: int
    values: tuple[int, ...]
    ceilings: tuple[int, ...]
    worth: int
    net: int

    @property
    def bound(self) -> int:
        """The least whole cost that is not ruled out."""
        return -(-self.net // self.scale)


@dataclass(frozen=True, slots=True)
class Counts:
    """How many sticks of each kind a plan may have; ``most`` None means no limit."""

    least: tuple[int, ...]
    most: tuple[int | None, ...]

    @classmethod
    def of(cls, sticks: Sequence[Stick]) -> Counts:
        """Return the limits that the sticks themselves have."""
        return cls((0,) * len(sticks), tuple(stick.limit for stick in sticks))


@dataclass(frozen=True, slots=True)
class Asked:
    """What a bound is wanted of: so many of each piece, from sticks of these costs, within these counts."""

    demands: Sequence[int]
    costs: Sequence[int]
    counts: Counts


def certify(asked: Asked, values: Sequence[int], ceilings: Sequence[int], scale: int) -> Certificate | None:
    """Return the certificate that these values make, at the smallest scale from ``scale`` up; None if none.

    It makes none where a stick without limit that costs nothing has a pattern of worth.
    """
    sticks = list(zip(ceilings, asked.costs, asked.counts.least, asked.counts.most, strict=True))
    unlimited = [(ceiling, cost) for ceiling, cost, _, most in sticks if most is None]
    if any(ceiling > 0 and cost == 0 for ceiling, cost in unlimited):
        return None
    scale = max(scale, *(-(-ceiling // cost) for ceiling, cost in unlimited if cost), 1)
    worth = sum(d * v for d, v in zip(asked.demands, values, strict=True))
    net = worth
    for ceiling, cost, least, most in sticks:
        surplus = ceiling - scale * cost
        net -= surplus * (least if surplus < 0 or most is None else most)
    return Certificate(scale, tuple(values), tuple(ceilings), worth, net)
