"""What length alone proves of a cost: all that is wanted must come out of what is bought and on hand.

A run is in sticks at least as long as it is measured, less the largest gaps and with the least laps that any stick asks
for, and in no fewer pieces than the longest stick makes of it. Each piece takes its kerf, a stick's last one none.
So a bound of a search, runs and all, may be worked out again without its search, where length is what it rests on.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, lcm

import numpy as np

from solver.checking.bench import Bench
from solver.checking.knapsack import Item, TooLargeToCheck, steps_of
from solver.checking.wanted import Wanted, allowance, own_gap, own_lap
from solver.checking.yields import Supply
from solver.materials import StockLength

ENDLESS = 10**6
"""Sticks of a kind without limit: more than any plan has."""


def proven_by_length(bench: Bench, supplies: Sequence[Supply], pieces: Sequence[Wanted]) -> bool:
    """Whether sticks that cost less than the bound are together shorter than all ``pieces`` and all runs."""
    kerf = bench.material.settings.kerf
    wanted = sum(item.required.pieces * (item.in_stick + kerf) for item in pieces)
    for run in (item for item in bench.wanted.values() if item.is_run):
        least = _least(bench, run, max((supply.length for supply in supplies), default=0))
        if least is None:
            return False
        wanted += run.required.pieces * least
    unit = lcm(*(supply.price.denominator for supply in supplies))
    capacity = ceil(bench.plan.bound * Fraction(bench.plan.cost_step) * unit) - 1
    items = [
        Item(int(s.price * unit), s.length + kerf, ENDLESS if s.limit is None else min(ENDLESS, s.limit))
        for s in supplies
    ]
    try:
        return int(steps_of(items, capacity).best(np.array([capacity]))[0]) < wanted
    except TooLargeToCheck:
        return False


def _least(bench: Bench, run: Wanted, longest: int) -> int | None:
    """Return the least that a run's pieces take up in sticks; None where a lap is a gap or a stick is no longer."""
    rows: list[StockLength | None] = [None, *(row for row in bench.material.stock if row.available != 0)]
    lap = min(own_lap(row, bench.material) or 0 for row in rows)
    gap = max(own_gap(row, bench.material) for row in rows)
    if lap < 0 or longest <= lap:
        return None
    item = run.required
    covered = item.length + sum(allowance(end, lap, gap) for end in (item.left_end, item.right_end))
    parts = max(1, -(-(covered - lap) // (longest - lap)))
    return covered + lap * (parts - 1) + item.room + bench.material.settings.kerf * parts
