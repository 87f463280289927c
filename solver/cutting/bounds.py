"""Lower bounds that anyone can check: values of pieces, and what the best pattern of each stick is worth.

Lagrangian bound (Geoffrion 1974) with Farley's scaling (1990): if no pattern of stick ``k`` is worth
more than ``ceilings[k]`` and piece ``i`` is worth ``values[i]``, both in parts of ``scale`` to a unit of
cost, then a plan with ``n_k`` sticks costs at least

    (sum demand * value - sum n_k * (ceiling_k - scale * cost_k)) / scale.

Sticks without limit must not be worth more than they cost; raising ``scale`` until that holds is
Farley's bound. All of it is whole numbers: no float decides anything.

``instant`` makes bounds in a moment, of values of pieces that need no linear program.
*Material*: a piece is worth its length, and no stick holds more than its own. Where there is one kind of
stick, also dual feasible functions of the lengths, for up to ``MOST_STEPS`` values of their parameter:

- ``threshold`` (Martello and Toth 1990, L2; Fekete and Schepers 2001, U): what is longer than the stick
  less ``step`` counts as a whole stick, what is shorter than ``step`` as nothing;
- ``stairs`` (Carlier, Clautiaux and Moukrim 2007, f_CCM,1): lengths are rounded down to steps, those of
  more than half a stick rounded up by what lies beside them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from solver.cutting.presolve import Reduced
from solver.cutting.pricing.protocol import IntVector
from solver.cutting.problem import Stick

MOST_STEPS = 100
"""Values of the parameter that are tried; more lengths than this are thinned out evenly."""
FINE = 2**20
"""Parts that values are cut into, so that scales can be whole numbers."""


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


def threshold(lengths: IntVector, stick: int, step: int) -> tuple[IntVector, int]:
    """Return values, one a length, by which what fits beside nothing of at least ``step`` is worth a stick."""
    return np.where(lengths > stick - step, stick, np.where(lengths < step, 0, lengths)), stick


def stairs(lengths: IntVector, stick: int, step: int) -> tuple[IntVector, int]:
    """Return values in steps, one a length; twice the number, so that a half is whole."""
    steps = stick // step
    large = 2 * (steps - (stick - lengths) // step)
    small = 2 * (lengths // step)
    return np.where(2 * lengths > stick, large, np.where(2 * lengths < stick, small, steps)), 2 * steps


def instant(reduced: Reduced) -> Certificate | None:
    """Return the best certificate that these values make."""
    sticks, pieces = reduced.problem.sticks, reduced.problem.pieces
    asked = Asked([piece.demand for piece in pieces], reduced.problem.least_costs, Counts.of(sticks))
    found = [
        certify(asked, values, reduced.ceilings(ceilings, values), scale)
        for values, ceilings in _values(reduced)
        for scale in _scales(reduced, ceilings)
    ]
    return max((c for c in found if c is not None), key=lambda c: c.net / c.scale, default=None)


def _values(reduced: Reduced) -> Iterator[tuple[list[int], list[int]]]:
    """Yield values of all pieces with what each stick can be worth, in fine parts."""
    lengths = np.array([piece.length for piece in reduced.problem.pieces], np.int64)
    sticks = reduced.problem.sticks[: reduced.priced]
    yield (lengths * FINE).tolist(), [stick.length * FINE for stick in sticks]
    if len(sticks) == 1 and not reduced.whole:
        stick = sticks[0].length
        steps = [step for step in dict.fromkeys(lengths.tolist()) if 2 * step <= stick]
        for step in steps[:: -(-len(steps) // MOST_STEPS) or 1]:
            for function in (threshold, stairs):
                values, most = function(lengths, stick, step)
                yield (values * FINE).tolist(), [most * FINE]


def _scales(reduced: Reduced, ceilings: Sequence[int]) -> Iterator[int]:
    """Yield the scales at which one of the sticks is worth just what it costs; the bound is best at one of them."""
    pairs = zip(ceilings, reduced.problem.least_costs, strict=False)
    yield from {ceiling // cost for ceiling, cost in pairs if cost} or {1}
