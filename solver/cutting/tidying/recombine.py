"""Fewer patterns by parts: a handful of the patterns in use is replaced by fewer that cut the same.

KOMBI (Foerster and Waescher 2000) replaces two patterns by one, three by two and four by three. Here a
group of a dozen that have pieces in common is given to the integer program, with all columns of the
pool that fit what the group cuts; so any number may become any smaller number.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solver.cutting.tidying.arrange import arrange
from solver.cutting.tidying.pool import Aim, IntMatrix, Pool
from solver.watch import Watch

GROUP = 12
"""Patterns taken together."""

TURNS = 15
"""Groups tried."""

PATIENCE = 5
"""Groups in a row that may bring nothing."""

COLUMNS = 60
"""Columns in one group's program, at most."""

WORK = 1_000
"""Nodes times columns in one group's program."""


def recombine(pool: Pool, counts: IntMatrix, aim: Aim, watch: Watch) -> IntMatrix:
    """Return a plan within the caps of ``aim`` of no more patterns than ``counts``."""
    idle = 0
    for turn in range(TURNS):
        if watch.stopped or idle == PATIENCE:
            break
        better = _replaced(pool, counts, _group(pool, counts, turn), aim, watch)
        idle = idle + 1 if better is counts else 0
        counts = better
    return counts


def _group(pool: Pool, counts: IntMatrix, turn: int) -> NDArray[np.intp]:
    """Choose patterns in use that share pieces, from a different one each turn; a little chance keeps groups apart."""
    used = np.flatnonzero(counts)
    holds = (pool.yields[used, : len(pool.demand)] > 0).astype(np.float64)
    chance, chosen = np.random.default_rng(turn), [turn % len(used)]
    while len(chosen) < min(GROUP, len(used)):
        shared = holds @ (holds[chosen].sum(axis=0) > 0) + chance.uniform(0.0, 1.5, len(used))
        shared[chosen] = -1.0
        chosen.append(int(shared.argmax()))
    return used[chosen]


def _replaced(pool: Pool, counts: IntMatrix, group: NDArray[np.intp], aim: Aim, watch: Watch) -> IntMatrix:
    others = counts.copy()
    others[group] = 0
    left = np.array((*pool.demand, *pool.limits), np.int64) - others @ pool.yields
    fits = ((pool.yields <= left).all(axis=1) & (others == 0)) | np.isin(np.arange(len(counts)), group)
    if fits.sum() > COLUMNS:
        return counts
    demand, limits = np.split(left, [len(pool.demand)])
    part = replace(pool.only(fits), demand=tuple(demand.tolist()), limits=tuple(limits.tolist()))
    rest = {name: cap - pool.total(name, others) for name, cap in aim.caps.items()}
    found = arrange(part, replace(aim, caps=rest), counts[fits], WORK, watch).counts
    if np.count_nonzero(found) < len(group):
        others[fits] = found
        return others
    return counts
