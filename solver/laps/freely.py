"""The lower bound where ends don't matter: a stick may hold any number of run pieces, a run any pieces that add up.

Values of slots from the sided linear program, averaged over both sides, serve here as well: any values bound
the cost of all plans. A stick's ceiling is a knapsack over plain pieces and slots of every length, a run's least
cost the cheapest row of pieces of the right sum; rules of placement are left out, which only lowers the bound.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from solver.laps.fills import Fills
from solver.laps.prices import Ints, width
from solver.laps.site import Layout, Site
from solver.laps.valuing import Values

MOST = 2**60
"""Stands for what no pieces add up to: sums of values stay far below it."""


def freely_bounded(site: Site, values: Values) -> Fraction:
    """Return the bound that slot values, averaged over both sides, prove where ends don't matter."""
    slots = [slot for side in values.slots for slot in side]
    slot: Ints = sum(slots[1:], slots[0]) // len(slots) if slots else np.zeros(width(site) + 1, np.int64)
    ceilings = _ceilings(site, values, slot)
    stretch, used = Fraction(1), dict[int, int]()
    for kind, stick in enumerate(site.problem.sticks):
        ceiling, cost = int(ceilings[(stick.length + site.problem.kerf) // site.cell]), stick.cost * values.scale
        if stick.limit is not None:
            used[kind] = max(0, ceiling - cost)
        elif ceiling > cost:
            stretch = max(stretch, Fraction(ceiling, cost))
    total = sum(_least_costs(site, slot))
    total += sum(site.problem.pieces[i].demand * int(v) for i, v in zip(site.plain, values.plain, strict=True))
    total -= sum((site.problem.sticks[k].limit or 0) * extra for k, extra in used.items())
    return Fraction(total) / (stretch * values.scale)


def _ceilings(site: Site, values: Values, slot: Ints) -> Ints:
    """Return for every number of cells the most that plain pieces and any slots in them are worth."""
    problem = site.problem
    sizes = [(problem.pieces[i].length + problem.kerf) // site.cell for i in site.plain]
    counts = [problem.pieces[i].demand for i in site.plain]
    worth = Fills(sizes, values.plain, counts, width(site), exact=False).worth
    for size in range(1, len(worth)):
        # Ascending sizes: worth[size - x] already holds any number of slots, so one more makes any number.
        reach = slot[1 : size + 1] + worth[size - 1 :: -1]
        worth[size] = max(int(worth[size]), int(reach.max()))
    found: Ints = worth
    return found


def _least_costs(site: Site, slot: Ints) -> list[int]:
    """Return for every run the least that pieces adding up to it are worth."""
    sums = [{(_shortest(site, y), y.shape.parts, _fewest_cells(site, y)) for y in found} for found in site.layouts]
    most = max((parts for found in sums for _, parts, _ in found), default=0)
    rows = {least: _rows(slot, most, least) for least in sorted({least for found in sums for least, *_ in found})}
    return [min((int(rows[least][parts][cells]) for least, parts, cells in found), default=0) for found in sums]


def _together(site: Site, layout: Layout) -> int:
    """Return what the pieces of a run add up to, in ticks."""
    return layout.shape.rest + sum(site.problem.sticks[k].length for k in layout.shape.wholes)


def _fewest_cells(site: Site, layout: Layout) -> int:
    """Return the fewest cells that the pieces of a run take together, each rounded down, however it is cut."""
    parts = layout.shape.parts
    together = _together(site, layout) + site.problem.kerf * parts
    return max(_shortest(site, layout) * parts, together // site.cell - parts + 1)


def _shortest(site: Site, layout: Layout) -> int:
    """Return 0 where a piece may be so short that it is rounded down to no cell, and then it is worth nothing; else 1.

    The shortest is what is left beside others as long as can be.
    """
    longest = max(stick.length for stick in site.problem.sticks)
    shortest = max(1, _together(site, layout) - longest * (layout.shape.parts - 1))
    return min(1, (shortest + site.problem.kerf) // site.cell)


def _rows(slot: Ints, most: int, least: int) -> list[Ints]:
    """Return for 0 to ``most`` pieces, of ``least`` cells or more each, the least that so many cells are worth."""
    none = np.zeros(1, np.int64)
    rows = [none]
    for _ in range(most):
        before = rows[-1]
        row = np.full(len(before) + len(slot) - 1, MOST, np.int64)
        for size in range(least, len(slot)):
            part = row[size : size + len(before)]
            np.minimum(part, before + (slot[size] if size else 0), out=part)
        rows.append(row)
    return rows
