"""Bounds in a moment: values of pieces that need no linear program.

*Material*: a piece is worth its length, and no stick holds more than its own. Where there is one kind of
stick, also dual feasible functions of the lengths, for up to ``MOST_STEPS`` values of their parameter:

- ``threshold`` (Martello and Toth 1990, L2; Fekete and Schepers 2001, U): what is longer than the stick
  less ``step`` counts as a whole stick, what is shorter than ``step`` as nothing;
- ``stairs`` (Carlier, Clautiaux and Moukrim 2007, f_CCM,1): lengths are rounded down to steps, those of
  more than half a stick rounded up by what lies beside them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from solver.cutting.certificate import Asked, Certificate, Counts, certify
from solver.cutting.presolve import Reduced
from solver.cutting.pricing import IntVector

MOST_STEPS = 100
"""Values of the parameter that are tried; more lengths than this are thinned out evenly."""

FINE = 2**20
"""Parts that values are cut into, so that scales can be whole numbers."""


def threshold(lengths: IntVector, stick: int, step: int) -> tuple[IntVector, int]:
    """Return values by which what fits beside nothing of at least ``step`` is worth a stick."""
    return np.where(lengths > stick - step, stick, np.where(lengths < step, 0, lengths)), stick


def stairs(lengths: IntVector, stick: int, step: int) -> tuple[IntVector, int]:
    """Return values in steps; twice the number, so that a half is whole."""
    steps = stick // step
    large = 2 * (steps - (stick - lengths) // step)
    small = 2 * (lengths // step)
    return np.where(2 * lengths > stick, large, np.where(2 * lengths < stick, small, steps)), 2 * steps


def instant(reduced: Reduced) -> Certificate | None:
    """Return the best certificate that these values make."""
    sticks, pieces = reduced.problem.sticks, reduced.problem.pieces
    asked = Asked([piece.demand for piece in pieces], [stick.cost for stick in sticks], Counts.of(sticks))
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
    costs = (stick.cost for stick in reduced.problem.sticks)
    yield from {ceiling // cost for ceiling, cost in zip(ceilings, costs, strict=False) if cost} or {1}
