"""The certificate of a bound: values so short that they can be given out, and proven anew to do.

Values of slots are put down where the linear program has its breakpoints, in whole numbers, and are what the straight
lines between say, rounded down. That is nearly what they were; whether the bound still follows is worked out again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from solver.categories import LapEnds
from solver.laps.bounds.dual_values import DualValues, NumberRow
from solver.laps.bounds.free_bound import averaged
from solver.laps.bounds.numbers import StickNumbers, endless
from solver.laps.model import Ints, LapModel
from solver.laps.problem import SlotDuals, SlotValues, ValueSet

Places = tuple[Sequence[Sequence[int]], Sequence[Sequence[int]]]
"""The breakpoints in cells, by side (right ends first) and set of sticks."""


def certificate(
    model: LapModel,
    rested: Sequence[DualValues],
    places: Places,
    row_of: Callable[[DualValues], NumberRow],
    least: int,
) -> SlotDuals | None:
    """Return values put down at these places; None where they no longer prove that no plan costs less than ``least``.

    ``row_of`` works out what values say of the numbers of sticks.
    """
    put = [_put_down(model, values, places) for values in rested]
    again = StickNumbers(model, least, endless(), choose=False)
    for values in put:
        again.add(row_of(values), values)
    if again.least < least or not put:
        return None
    return SlotDuals(model.cell, put[0].scale, tuple(_set(model, values, places) for values in put))


def _put_down(model: LapModel, values: DualValues, places: Places) -> DualValues:
    slots = values.slots
    if model.problem.rules.ends is not LapEnds.FACTORY:
        line = averaged(model, values)
        slots = tuple(line for _ in slots[0]), tuple(line for _ in slots[1])
        both = sorted({n for side in places for at in side for n in at})
        places = [both for _ in slots[0]], [both for _ in slots[1]]
    first, last = (
        tuple(straight(at, slot[list(at)].tolist(), len(slot) - 1) for at, slot in zip(where, side, strict=True))
        for where, side in zip(places, slots, strict=True)
    )
    return DualValues((first, last), values.plain, values.sticks, values.scale)


def straight(at: Sequence[int], worth: Sequence[int], width: int) -> Ints:
    """Return what 0 to ``width`` cells are worth, on straight lines between those at hand, rounded down."""
    found = np.zeros(width + 1, np.int64)
    for low, high, one, two in zip(at, at[1:], worth, worth[1:], strict=False):
        steps = np.arange(high - low + 1)
        found[low : high + 1] = one + (two - one) * steps // (high - low)
    return found


def _set(model: LapModel, values: DualValues, places: Places) -> ValueSet:
    pieces: list[int | None] = [None] * len(model.problem.pieces)
    for place, i in enumerate(model.plain):
        pieces[i] = int(values.plain[place])
    slots = _slots if model.problem.rules.ends is LapEnds.FACTORY else _anywhere
    return ValueSet(tuple(slots(model, values, places)), tuple(pieces), tuple(map(int, values.sticks)))


def _slots(model: LapModel, values: DualValues, places: Places) -> list[SlotValues]:
    return [
        SlotValues(not side, tuple(sorted(kinds)), tuple((n, int(slot[n])) for n in at))
        for side in (0, 1)
        for kinds, slot, at in zip(model.sides[side], values.slots[side], places[side], strict=True)
    ]


def _anywhere(model: LapModel, values: DualValues, places: Places) -> list[SlotValues]:
    """Return the one line of values where ends don't matter."""
    line = averaged(model, values)
    kinds = tuple(k for k, stick in enumerate(model.problem.sticks) if stick.lapped and stick.limit != 0)
    both = sorted({n for side in places for at in side for n in at})
    return [SlotValues(None, kinds, tuple((n, int(line[n])) for n in both))]
