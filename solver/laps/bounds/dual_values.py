"""What slots, pieces and sticks are worth, in whole numbers, and what that proves of the numbers of sticks.

Give every slot and plain piece a value, and every kind of stick one that no cut of it exceeds. Let a whole stick in a
run count for that of its kind, and V be what all runs, each split the cheapest way, and all plain pieces are worth
together. Then ``n_k`` sticks of kind ``k``, cut or whole, make a plan only if ``sum(n_k * value_k) >= V``, whatever the
values are (a Benders cut, Benders 1962, on how many sticks there are). Where rules between courses ask for so many laps
of some runs, a lap of theirs may have a value too: it is taken off each split, and V has that of so many laps more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from solver.laps.model import Ints
from solver.laps.problem import LapStick

Sides = tuple[tuple[Ints, ...], tuple[Ints, ...]]


@dataclass(frozen=True, slots=True)
class DualValues:
    """What things are worth in ``1 / scale`` units of cost.

    ``slots[side][set]`` (side 0: right ends) has shape (width + 1,), by cells; ``plain`` has shape (plain kinds,), by
    place in ``model.plain``; ``sticks`` has shape (kinds,). ``laps`` are by row of the classes, or none.
    """

    slots: Sides
    plain: Ints
    sticks: Ints
    scale: int
    laps: tuple[int, ...] = ()

    def towards(self, other: DualValues, tenths: int) -> DualValues:
        """Return these values moved so many tenths of the way to others of the same scale; slots still never fall."""

        def moved(one: Ints, two: Ints) -> Ints:
            return ((10 - tenths) * one + tenths * two) // 10

        first, last = (
            tuple(moved(one, two) for one, two in zip(mine, theirs, strict=True))
            for mine, theirs in zip(self.slots, other.slots, strict=True)
        )
        laps = tuple(((10 - tenths) * n + tenths * m) // 10 for n, m in zip(self.laps, other.laps, strict=True))
        plain, sticks = moved(self.plain, other.plain), moved(self.sticks, other.sticks)
        return DualValues((first, last), plain, sticks, self.scale, laps)


@dataclass(frozen=True, slots=True)
class NumberRow:
    """Of every plan's sticks, ``sum(numbers * yields) >= worth``, in ``1 / scale`` units of cost."""

    yields: tuple[int, ...]
    worth: int
    scale: int

    def bound(self, sticks: Sequence[LapStick]) -> Fraction:
        """Return what sticks within their limits cost at least by this row alone, in fractions of sticks."""
        dearer, worth = Fraction(1), self.worth
        for stick, yielded in zip(sticks, self.yields, strict=True):
            beyond = yielded - stick.cost * self.scale
            if stick.limit is not None:
                worth -= stick.limit * max(0, beyond)
            elif beyond > 0 and not stick.cost:
                return Fraction(0)
            elif beyond > 0:
                dearer = max(dearer, Fraction(yielded, stick.cost * self.scale))
        return max(Fraction(0), worth / (dearer * self.scale))

    def lacking(self, numbers: Sequence[int]) -> int:
        """Return how much less than needed so many sticks are worth; above 0 no plan has just these."""
        return self.worth - sum(n * yielded for n, yielded in zip(numbers, self.yields, strict=True))
