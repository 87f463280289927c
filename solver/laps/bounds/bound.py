"""The lower bound for runs and sticks together, by column generation; and the values that prove it.

Any dual values say something of the numbers of sticks that every plan has (``dual_values``); ``numbers`` makes the
bound of it. The linear program supplies values that come ever closer to the best. Then it is asked for values that
rule out the cheapest numbers which none so far does (a logic-based Benders decomposition, Hooker and Ottosson 2003).
Columns it was given are kept: whole plans are made of them afterwards.

The certificate has values so short that they can be given out. Values of slots are put down where the linear program
has its breakpoints, in whole numbers, and are what the straight lines between say, rounded down. That is nearly what
they were; whether the bound still follows is worked out again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from math import ceil, inf

import numpy as np

from solver.categories import LapEnds
from solver.laps.bounds.columns import RunClasses, RunColumn, StickColumn
from solver.laps.bounds.dual_values import DualValues, NumberRow
from solver.laps.bounds.free_bound import averaged, free_ends_row
from solver.laps.bounds.master import Master, Unsolved
from solver.laps.bounds.numbers import StickNumbers, endless
from solver.laps.bounds.pricing import Priced, Pricer, Prices, by_length
from solver.laps.model import Ints, LapModel
from solver.laps.problem import SlotDuals, SlotValues, ValueSet
from solver.lengths import TICKS_PER_INCH
from solver.watch import Watch

CUTS_EACH = 12
"""Columns taken a round for every kind of stick."""

SPLITS_EACH = 3
"""Columns taken a round for every class of runs."""

BREAKPOINTS_EACH = 8
"""Breakpoints added at a time to each set of slots: every breakpoint is a row more for the linear program."""

FIRST_BREAKPOINTS_APART = 12 * TICKS_PER_INCH
"""Where breakpoints begin, in ticks: few rows, so that the first rounds are quick; more come where they are wanting."""

MOST_VALUE = 10**9
"""The dearest stick's cost in parts of a value: fine enough for any cost, and sums stay far within 64 bits."""

STEADY = 8
"""Columns are priced at values moved so many tenths of the way to those of the best bound, which keeps them from
leaping about (Wentges 1997, *Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming*)."""

COARSE = 1e-2
"""Breakpoints are added once the bound is this near to the linear program's cost."""

VARIED_BY = 0.02
"""How far, as a share of itself, a value is moved for columns that are good at values a little off."""

NUMBER_ROUNDS = 40
"""Rounds of column generation at most in search of values that rule out some numbers of sticks."""

VARIED = 40
"""How often columns are priced at values a little off the best, beside those that the linear program met."""

PATIENCE = 60
"""Rounds without a better lifted bound after which plans are tried instead."""


NOTHING = 1e-6
"""So little beyond the numbers asked for is none, in units of cost."""


class Exhausted(Exception):
    """No values will rule out the numbers asked about: in fractions, sticks of these numbers do."""


class ColumnGeneration:
    """Column generation over one model, some rounds at a time.

    ``numbers`` holds what its values prove. ``done``: the linear program's own bound can't rise further.
    """

    def __init__(
        self, model: LapModel, classes: RunClasses, numbers: StickNumbers, start: Iterable[StickColumn | RunColumn]
    ) -> None:
        self._model, self.numbers = model, numbers
        self._pricer = Pricer(model, classes)
        self._master = Master(model, classes, max(1, FIRST_BREAKPOINTS_APART // model.cell))
        self._scale = max(1, MOST_VALUE // max(stick.cost for stick in model.problem.sticks))
        self._best: tuple[Fraction, DualValues] | None = None
        self.done = False
        self._gap, self._cost = 1.0, inf
        self.add(start)

    def add(self, columns: Iterable[StickColumn | RunColumn]) -> None:
        """Take in columns of plans."""
        for column in columns:
            self._master.add(column)

    @property
    def columns(self) -> list[StickColumn | RunColumn]:
        """Every column met."""
        return list(self._master.columns)

    def run(self, rounds: int, target: int, near: float, watch: Watch, price: int = 0) -> None:
        """Go on until the bound reaches ``target``, can't rise, or has not risen for long.

        Within ``near``, a share of the linear program's cost, it ends as well; with one ``price`` for all sticks, only
        once the bound is the least number of sticks that cost no less than the program, for it will show no more. While
        the program's cost is less than one stick below ``target``, no cheaper plan is to be hoped for, and rounds are
        neither counted nor given up.
        """
        since, number = 0, 0
        while not self.done and self.numbers.least < target and not watch.stopped and not self._near(near, price):
            if (since > PATIENCE or number >= rounds) and self._cost <= target - price:
                return
            number += 1
            before = self.numbers.least
            try:
                self._round()
            except Unsolved:
                self.done = True
            since = 0 if self.numbers.least > before else since + 1

    def _near(self, near: float, price: int) -> bool:
        provable = ceil(self._cost / price - NOTHING) * price if price and self._cost < inf else 0
        return self._gap < near and self.numbers.least >= provable

    def _round(self) -> None:
        self._cost = cost = self._master.solve()
        own = self._master.values(self._scale)
        added = 0
        if self._best is not None:
            added = self._price(own.towards(self._best[1], STEADY))
        if not added:
            added = self._price(own)
        self._gap = float(1 - self._best[0] / Fraction(cost)) if cost and self._best else 0.0
        if (self._gap < COARSE or not added) and not self._master.refine(BREAKPOINTS_EACH) and not added:
            self.done = True

    def _price(self, values: DualValues) -> int:
        """Bound by these values; take in the columns that are best at them and return how many are new."""
        valued = self._pricer.value(values, CUTS_EACH, SPLITS_EACH)
        bound = valued.row.bound(self._model.problem.sticks)
        if self._best is None or bound > self._best[0]:
            self._best = bound, values
            self._learn(valued, values)
        return self._take_in(valued)

    def _take_in(self, valued: Priced) -> int:
        columns: list[StickColumn | RunColumn] = [*valued.cuts, *valued.splits]
        return sum([self._master.add(column) for column in columns])

    def certificate(self) -> SlotDuals | None:
        """Return what the bound can be worked out from again; None where it rests on a search, or on length alone."""
        rested = self.numbers.resting_on() if self._model.complete else None
        if not rested:
            return None
        return certificate(self._model, rested, self._master.places, self._row_of, self.numbers.least)

    def _row_of(self, values: DualValues) -> NumberRow:
        if self._model.problem.rules.ends is LapEnds.FACTORY:
            return self._pricer.value(values, 1, 1).row
        return free_ends_row(self._model, values)

    def _learn(self, valued: Priced, values: DualValues) -> None:
        """Remember what values prove of the numbers of sticks."""
        factory = self._model.problem.rules.ends is LapEnds.FACTORY
        if self._model.complete:
            self.numbers.add(valued.row if factory else free_ends_row(self._model, values), values)

    def rules_out(self, numbers: tuple[int, ...], watch: Watch) -> bool:
        """Look for values that show these numbers of sticks to be too few, and remember them."""
        self._master.ask(numbers)
        try:
            return any(self._ruled_out(numbers) for _ in range(NUMBER_ROUNDS) if not watch.stopped)
        except (Unsolved, Exhausted):
            return False
        finally:
            self._master.ask(None)

    def _ruled_out(self, numbers: tuple[int, ...]) -> bool:
        """Solve once for these numbers; whether its values rule them out. Raises ``Exhausted`` if none will."""
        beyond = self._master.solve()
        values = self._master.values(self._scale)
        valued = self._pricer.value(values, CUTS_EACH, SPLITS_EACH)
        self._learn(valued, values)
        if not self.numbers.allows(numbers):
            return True
        added = self._take_in(valued)
        if beyond <= NOTHING or (not added and not self._master.refine(BREAKPOINTS_EACH)):
            raise Exhausted
        return False

    def varied(self, seed: int) -> list[StickColumn | RunColumn]:
        """Return columns that are good at values a little off the best: what whole plans need beside the program's."""
        if self._best is None:
            return []
        dice, found = np.random.default_rng(seed), dict[StickColumn | RunColumn, None]()
        for _ in range(VARIED):
            valued = self._pricer.value(_moved(self._best[1], dice), CUTS_EACH, SPLITS_EACH)
            found |= dict.fromkeys([*valued.cuts, *valued.splits])
        return list(found)

    @property
    def prices(self) -> Prices:
        """The prices of the best bound; by length before there is one."""
        if self._best is None:
            return by_length(self._model)
        values = self._best[1]
        scale = float(values.scale)
        first, last = (
            {kinds: slot / scale for kinds, slot in zip(side, slots, strict=True)}
            for side, slots in zip(self._model.sides, values.slots, strict=True)
        )
        sticks = [int(v) / scale for v in values.sticks]
        return Prices(first, last, values.plain / scale, sticks)


def _moved(values: DualValues, dice: np.random.Generator) -> DualValues:
    """Return values each moved by up to ``SPREAD`` of itself; those of slots still never fall with length."""

    def moved(worth: Ints) -> Ints:
        return (worth * (1.0 + VARIED_BY * dice.uniform(-1.0, 1.0, len(worth)))).astype(np.int64)

    first, last = (tuple(np.maximum.accumulate(moved(slot)) for slot in side) for side in values.slots)
    return DualValues((first, last), moved(values.plain), values.sticks, values.scale, values.laps)


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

    Laps have no value there: how many rules ask for is nothing that could be worked out from values.
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
    if model.problem.rules.ends is not LapEnds.FACTORY:
        return ValueSet(tuple(_anywhere(model, values, places)), tuple(pieces), ())
    return ValueSet(tuple(_slots(model, values, places)), tuple(pieces), tuple(map(int, values.sticks)))


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
