"""The lower bound for splits and cuts together, by column generation; and the values that prove it.

Any values bound the cost of all plans (``Valuer``). The linear program supplies values that come ever closer
to the best. Columns it was given are kept: whole plans are made of them afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import numpy as np

from solver.laps.cheapest import Lattice
from solver.laps.columns import Classes, Cut, Split
from solver.laps.freely import freely_bounded
from solver.laps.master import Master, Unsolved
from solver.laps.prices import Ints, Prices, by_length
from solver.laps.site import Site
from solver.laps.valuing import Valuer, Values
from solver.lengths import TICKS_PER_INCH
from solver.materials import LapEnds
from solver.watch import Watch

CUTS_EACH = 12
"""Columns taken a round for every kind of stick."""

SPLITS_EACH = 3
"""Columns taken a round for every class of runs."""

KNOTS_EACH = 8
"""Knots added at a time to each set of slots: every knot is a row more for the linear program."""

FIRST_KNOTS_APART = 12 * TICKS_PER_INCH
"""Where knots begin, in ticks: few rows, so that the first rounds are quick; more come where they are wanting."""

MOST_VALUE = 10**9
"""The dearest stick's cost in parts of a value: fine enough for any cost, and sums stay far within 64 bits."""

STEADY = 7
"""Columns are priced at values moved so many tenths of the way to those of the best bound, which keeps them from
leaping about (Wentges 1997, *Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming*)."""

COARSE = 1e-2
"""Knots are added once the bound is this near to the linear program's cost."""

SPREAD = 0.02
"""How far, as a share of itself, a value is moved for columns that are good at values a little off."""

PATIENCE = 60
"""Rounds without a better lifted bound after which plans are tried instead."""


class Bounding:
    """Column generation over one site, some rounds at a time.

    ``least``: no plan costs less. ``done``: the bound can't rise further.
    """

    def __init__(self, site: Site, classes: Classes, lattice: Lattice, start: Iterable[Cut | Split]) -> None:
        self._site, self._lattice = site, lattice
        self._valuer = Valuer(site, classes)
        self._master = Master(site, classes, max(1, FIRST_KNOTS_APART // site.cell))
        self._scale = max(1, MOST_VALUE // max(stick.cost for stick in site.problem.sticks))
        self._best: tuple[Fraction, Values] | None = None
        self.least = lattice.lift(Fraction(0))
        self.done = False
        self._gap = 1.0
        self.add(start)

    def add(self, columns: Iterable[Cut | Split]) -> None:
        """Take in columns of plans."""
        for column in columns:
            self._master.add(column)

    @property
    def columns(self) -> list[Cut | Split]:
        """Every column met."""
        return list(self._master.columns)

    def run(self, rounds: int, target: int, near: float, watch: Watch) -> None:
        """Go on until the bound reaches ``target``, can't rise, has not risen for long, or is within ``near``.

        ``near`` is a share of the linear program's cost.
        """
        since = 0
        for _ in range(rounds):
            if self.done or self.least >= target or watch.stopped or since > PATIENCE or self._gap < near:
                return
            before = self.least
            try:
                self._round()
            except Unsolved:
                self.done = True
            since = 0 if self.least > before else since + 1

    def _round(self) -> None:
        cost = self._master.solve()
        own = self._master.values(self._scale)
        added = 0
        if self._best is not None:
            added = self._price(own.towards(self._best[1], STEADY))
        if not added:
            added = self._price(own)
        self._gap = float(1 - self._best[0] / Fraction(cost)) if cost and self._best else 0.0
        if (self._gap < COARSE or not added) and not self._master.refine(KNOTS_EACH) and not added:
            self.done = True

    def _price(self, values: Values) -> int:
        """Bound by these values; take in the columns that are best at them and return how many are new."""
        valued = self._valuer.value(values, CUTS_EACH, SPLITS_EACH)
        if self._best is None or valued.bound > self._best[0]:
            self._best = valued.bound, values
            self._raise(valued.bound, values)
        columns: list[Cut | Split] = [*valued.cuts, *valued.splits]
        return sum([self._master.add(column) for column in columns])

    def varied(self, rounds: int, seed: int) -> list[Cut | Split]:
        """Return columns that are good at values a little off the best: what whole plans need beside the program's."""
        if self._best is None:
            return []
        dice, found = np.random.default_rng(seed), dict[Cut | Split, None]()
        for _ in range(rounds):
            valued = self._valuer.value(_moved(self._best[1], dice), CUTS_EACH, SPLITS_EACH)
            found |= dict.fromkeys([*valued.cuts, *valued.splits])
        return list(found)

    def _raise(self, bound: Fraction, values: Values) -> None:
        if self._site.problem.rules.ends is not LapEnds.FACTORY:
            bound = freely_bounded(self._site, values)
        if self._site.complete:
            self.least = max(self.least, self._lattice.lift(bound))

    @property
    def prices(self) -> Prices:
        """The prices of the best bound; by length before there is one."""
        if self._best is None:
            return by_length(self._site)
        values = self._best[1]
        scale = float(values.scale)
        first, last = (
            {kinds: slot / scale for kinds, slot in zip(side, slots, strict=True)}
            for side, slots in zip(self._site.sides, values.slots, strict=True)
        )
        return Prices(first, last, values.plain / scale, {k: v / scale for k, v in values.used.items()})


def _moved(values: Values, dice: np.random.Generator) -> Values:
    """Return values each moved by up to ``SPREAD`` of itself; those of slots still never fall with length."""

    def moved(worth: Ints) -> Ints:
        return (worth * (1.0 + SPREAD * dice.uniform(-1.0, 1.0, len(worth)))).astype(np.int64)

    first, last = (tuple(np.maximum.accumulate(moved(slot)) for slot in side) for side in values.slots)
    return Values((first, last), moved(values.plain), values.used, values.scale)
