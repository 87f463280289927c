"""Odd sets of pieces: cuts that hold for every whole plan, and that fractions of patterns often break.

Let ``S`` be kinds of pieces that are wanted an odd number of times all together. Sticks that hold an even
number of them can't add up to that, so in every plan some stick holds an odd number:

    sum { x_p : p holds an odd number of pieces of S } >= 1.

With each piece cut exactly as often as wanted, these are the Chvatal-Gomory cuts with multipliers of a half
(Caprara and Fischetti 1996); for three kinds wanted once each, subset-row cuts (Jepsen, Petersen,
Spoorendonk and Pisinger 2008). All sets of up to three kinds are looked at together: with signs ``-1`` where
a pattern holds an odd number of a kind and ``+1`` elsewhere, the signs of a set are the product of its kinds'.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from solver.cutting.pricing import IntVector

BROKEN = 0.01
"""What a cut must lack at least to be worth a row."""

LEAST = 1e-8
"""Amounts below this are none."""

MOST_WORK = 100_000_000
"""Multiplications that one search for sets may take; with more kinds, fewer triples are looked at."""

OddSet = tuple[int, ...]
"""Kinds of pieces, ascending."""


def odd_sets(held: IntVector, amounts: NDArray[np.float64], demands: Sequence[int], most: int) -> list[OddSet]:
    """Return the sets whose cuts are broken most, at most so many.

    ``held[i, p]``: how many of piece ``i`` a pattern holds, ``amounts[p]``: how often it is cut.
    """
    used = amounts > LEAST
    parity = held[:, used] % 2
    signs = np.vstack([np.ones((2, parity.shape[1])), 1.0 - 2.0 * parity])
    odd = np.concatenate([np.zeros(2, np.int64), np.array(demands, np.int64) % 2])
    broken = dict(_broken(signs, amounts[used], odd))
    return sorted(broken, key=lambda kinds: (broken[kinds], kinds))[:most]


def _broken(signs: NDArray[np.float64], amounts: NDArray[np.float64], odd: IntVector) -> Iterator[tuple[OddSet, float]]:
    """Yield sets with what their cuts come to; the first two rows stand for no kind, so that sets may be smaller."""
    total, rows = float(amounts.sum()), len(signs)
    step = max(1, -(-rows * rows * signs.size // MOST_WORK))
    for i in (0, *range(1, rows - 2, step)):
        rest = signs[i + 1 :]
        sums = (total - (rest * (signs[i] * amounts)) @ rest.T) / 2
        wanted = (odd[i] + odd[i + 1 :, None] + odd[None, i + 1 :]) % 2 == 1
        for j, k in np.argwhere(np.triu(wanted & (sums < 1 - BROKEN), 1)).tolist():
            yield tuple(row - 2 for row in (i, i + 1 + j, i + 1 + k) if row > 1), float(sums[j, k])
