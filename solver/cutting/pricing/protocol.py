"""Pricing: which patterns are worth most when every piece has a value. The protocol, and the choice of method.

In column generation (Gilmore and Gomory 1961, 1963) the linear program hands each piece a value (its
dual) and asks for a pattern worth more than its stick costs. That is an integer knapsack. Here values
are whole numbers (duals times a scale, rounded down), so a pricer's answer is exact and can carry a
proof.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import Pattern
from solver.watch import Watch

IntVector = NDArray[np.int64]

MOST_VALUE = 2**52
"""No pattern is ever worth more than this: values stay exact in int64 and in a float."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What a pricer found.

    ``ceilings[k]``: no pattern of stick ``k`` is worth more (a sharp figure unless the pricer was
    stopped or works on a coarser grid; always valid). ``patterns``: good ones, best first within a
    stick, for every stick at least the best one found if it is worth more than the stick's floor.
    """

    ceilings: tuple[int, ...]
    patterns: tuple[Pattern, ...]


class Pricer(Protocol):
    """The most valuable patterns of every stick at once.

    Made once for a reduced problem (no kerf, lengths divided by their common divisor). Pieces that
    need both factory ends are never in its patterns: the caller adds those itself.
    """

    def price(self, values: IntVector, copies: IntVector, floors: Sequence[int], watch: Watch) -> Prices:
        """Return ceilings for all sticks, and patterns worth more than ``floors[k]`` of their stick.

        ``values[i]``: one per piece, 0 or more, no pattern above ``MOST_VALUE``. ``copies``: at most so
        many of each piece in one pattern. At most one piece that needs the left end, and one that
        needs the right, and only where the stick has that end. When ``watch`` stops it, it returns
        valid ceilings and what it has.
        """
        ...
