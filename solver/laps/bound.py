"""The lower bound for runs and sticks together, by column generation; and the values that prove it.

Any dual values bound the cost of all plans (``Pricer``). The linear program supplies values that come ever closer
to the best. Columns it was given are kept: whole plans are made of them afterwards. A bound between two costs that
whole sticks can make is lifted to the upper one.

Where ends don't matter a stick may hold any number of run pieces, and a run any pieces that add up (the free-ends
relaxation). Values of slots from the sided linear program, averaged over both sides, serve here as well. A stick's
ceiling is a knapsack over plain pieces and slots of every length, a run's least cost the cheapest row of pieces of the
right sum, whatever their number; rules of placement are left out, which only lowers the bound.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from math import ceil, gcd

import numpy as np

from solver.cutting.reachable import halves
from solver.laps.columns import RunClasses, RunColumn, StickColumn
from solver.laps.master import Master, Unsolved
from solver.laps.model import MOST_CELLS, Ints, LapModel
from solver.laps.pricing import DualValues, Fills, Pricer, Prices, by_length
from solver.laps.problem import LapProblem
from solver.laps.templates import FreeSum
from solver.lengths import TICKS_PER_INCH
from solver.materials import LapEnds
from solver.watch import Watch

MOST = 2**60
"""Stands for what no pieces add up to: sums of values stay far below it."""

MOST_LISTED = 4 * MOST_CELLS
"""Rows of pieces that take more cells than this together are listed on a coarser grid."""

MOST_STEPS = 4_000_000
"""With more steps of cost than this they are not listed, and a bound is rounded up to the common divisor."""


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

STEADY = 7
"""Columns are priced at values moved so many tenths of the way to those of the best bound, which keeps them from
leaping about (Wentges 1997, *Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming*)."""

COARSE = 1e-2
"""Breakpoints are added once the bound is this near to the linear program's cost."""

VARIED_BY = 0.02
"""How far, as a share of itself, a value is moved for columns that are good at values a little off."""

PATIENCE = 60
"""Rounds without a better lifted bound after which plans are tried instead."""


class ColumnGeneration:
    """Column generation over one model, some rounds at a time.

    ``least``: no plan costs less. ``done``: the bound can't rise further.
    """

    def __init__(
        self, model: LapModel, classes: RunClasses, reachable: ReachableCosts, start: Iterable[StickColumn | RunColumn]
    ) -> None:
        self._model, self._reachable = model, reachable
        self._pricer = Pricer(model, classes)
        self._master = Master(model, classes, max(1, FIRST_BREAKPOINTS_APART // model.cell))
        self._scale = max(1, MOST_VALUE // max(stick.cost for stick in model.problem.sticks))
        self._best: tuple[Fraction, DualValues] | None = None
        self.least = reachable.lift(Fraction(0))
        self.done = False
        self._gap = 1.0
        self.add(start)

    def add(self, columns: Iterable[StickColumn | RunColumn]) -> None:
        """Take in columns of plans."""
        for column in columns:
            self._master.add(column)

    @property
    def columns(self) -> list[StickColumn | RunColumn]:
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
        if (self._gap < COARSE or not added) and not self._master.refine(BREAKPOINTS_EACH) and not added:
            self.done = True

    def _price(self, values: DualValues) -> int:
        """Bound by these values; take in the columns that are best at them and return how many are new."""
        valued = self._pricer.value(values, CUTS_EACH, SPLITS_EACH)
        if self._best is None or valued.bound > self._best[0]:
            self._best = valued.bound, values
            self._raise(valued.bound, values)
        columns: list[StickColumn | RunColumn] = [*valued.cuts, *valued.splits]
        return sum([self._master.add(column) for column in columns])

    def varied(self, rounds: int, seed: int) -> list[StickColumn | RunColumn]:
        """Return columns that are good at values a little off the best: what whole plans need beside the program's."""
        if self._best is None:
            return []
        dice, found = np.random.default_rng(seed), dict[StickColumn | RunColumn, None]()
        for _ in range(rounds):
            valued = self._pricer.value(_moved(self._best[1], dice), CUTS_EACH, SPLITS_EACH)
            found |= dict.fromkeys([*valued.cuts, *valued.splits])
        return list(found)

    def _raise(self, bound: Fraction, values: DualValues) -> None:
        if self._model.problem.rules.ends is not LapEnds.FACTORY:
            bound = free_ends_bound(self._model, values)
        if self._model.complete:
            self.least = max(self.least, self._reachable.lift(bound))

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
        return Prices(first, last, values.plain / scale, {k: v / scale for k, v in values.used.items()})


def _moved(values: DualValues, dice: np.random.Generator) -> DualValues:
    """Return values each moved by up to ``SPREAD`` of itself; those of slots still never fall with length."""

    def moved(worth: Ints) -> Ints:
        return (worth * (1.0 + VARIED_BY * dice.uniform(-1.0, 1.0, len(worth)))).astype(np.int64)

    first, last = (tuple(np.maximum.accumulate(moved(slot)) for slot in side) for side in values.slots)
    return DualValues((first, last), moved(values.plain), values.used, values.scale)


def free_ends_bound(model: LapModel, values: DualValues) -> Fraction:
    """Return the bound that slot values, averaged over both sides, prove where ends don't matter."""
    slots = [slot for side in values.slots for slot in side]
    slot: Ints = sum(slots[1:], slots[0]) // len(slots) if slots else np.zeros(model.width + 1, np.int64)
    ceilings = _ceilings(model, values, slot)
    stretch, used = Fraction(1), dict[int, int]()
    for kind, stick in enumerate(model.problem.sticks):
        ceiling, cost = int(ceilings[model.cells(stick.length)]), stick.cost * values.scale
        if stick.limit is not None:
            used[kind] = max(0, ceiling - cost)
        elif ceiling > cost:
            stretch = max(stretch, Fraction(ceiling, cost))
    total = _least_costs(model, slot)
    total += sum(model.problem.pieces[i].demand * int(v) for i, v in zip(model.plain, values.plain, strict=True))
    total -= sum((model.problem.sticks[k].limit or 0) * extra for k, extra in used.items())
    return Fraction(total) / (stretch * values.scale)


def _ceilings(model: LapModel, values: DualValues, slot: Ints) -> Ints:
    """Return the most that plain pieces and any slots are worth in 0, 1, ... cells: shape (width + 1,)."""
    problem = model.problem
    counts = [problem.pieces[i].demand for i in model.plain]
    worth = Fills(model.sizes, values.plain, counts, model.width, exact=False).worth
    for size in range(1, len(worth)):
        # Ascending sizes: worth[size - x] already holds any number of slots, so one more makes any number.
        reach = slot[1 : size + 1] + worth[size - 1 :: -1]
        worth[size] = max(int(worth[size]), int(reach.max()))
    found: Ints = worth
    return found


def _least_costs(model: LapModel, slot: Ints) -> int:
    """Return the least that pieces adding up to every run are worth, all together."""
    rows = Rows(slot)
    counts = Counter(model.alike)
    sums = {alike: model.sums[run] for run, alike in enumerate(model.alike)}
    least = {alike: min((_least_cost(model, rows, s) for s in found), default=0) for alike, found in sums.items()}
    return sum(counts[alike] * least[alike] for alike in counts)


def _least_cost(model: LapModel, rows: Rows, each: FreeSum) -> int:
    together, shortest = _cells(model, each)
    return rows.least(each.parts, shortest, together)


def _cells(model: LapModel, each: FreeSum) -> tuple[int, int]:
    """Return the fewest cells that the pieces take together, and the fewest that each takes.

    On an exact grid (see the package) pieces are whole cells, and a piece may be none at all. Else each is rounded
    down to cells. The shortest piece is what is left beside others as long as can be.
    """
    together = model.problem.taken(each.length, each.parts) // model.cell
    exact = model.cell == model.divisor
    shortest = model.cells(max(0 if exact else 1, each.length - each.longest * (each.parts - 1)))
    return together if exact else max(shortest * each.parts, together - each.parts + 1), shortest


class Rows:
    """The least that rows of pieces are worth at one slot's values, by number of pieces and cells together."""

    def __init__(self, slot: Ints) -> None:
        """``slot``, of shape (width + 1,), is the value of 0, 1, ... cells to the longest stick's; it never falls."""
        self._slot = slot
        self._known: dict[tuple[int, int, int], Ints] = {}

    def least(self, parts: int, shortest: int, cells: int) -> int:
        """Return the least that ``parts`` pieces of ``shortest`` cells or more are worth that take ``cells`` together.

        Rows of half the pieces are joined. Where those are too long to list, several cells count as one: every piece
        is rounded down once more, as little as it can be worth, and so are they together.
        """
        half = parts // 2
        joined = -(-(parts - half) * len(self._slot) // MOST_LISTED)
        together = max(-(-(cells - parts * (joined - 1)) // joined), shortest // joined * parts)
        one, other = (self._row(n, shortest // joined, joined) for n in (half, parts - half))
        low, high = max(0, together - len(other) + 1), min(together, len(one) - 1)
        return int((one[low : high + 1] + other[together - high : together - low + 1][::-1]).min())

    def _row(self, parts: int, shortest: int, joined: int) -> Ints:
        """Return by cells together, from 0, what ``parts`` pieces are worth at the least; MOST where none are."""
        key = parts, shortest, joined
        if key not in self._known:
            self._known[key] = self._longer(*key) if parts else np.zeros(1, np.int64)
        return self._known[key]

    def _longer(self, parts: int, shortest: int, joined: int) -> Ints:
        slot, before = self._slot[::joined], self._row(parts - 1, shortest, joined)
        row = np.full(len(before) + len(slot) - 1, MOST, np.int64)
        for size in range(shortest, len(slot)):
            part = row[size : size + len(before)]
            np.minimum(part, before + (slot[size] if size else 0), out=part)
        return row


def least_length(model: LapModel) -> int:
    """Return what all pieces and the cuts between them take up at the least, each with a kerf, in ticks."""
    problem = model.problem
    pieces = sum(problem.taken(piece.length) * piece.demand for piece in problem.pieces)
    runs = 0
    for candidates, free in zip(model.candidates, model.sums, strict=True):
        templates = [candidate.template for candidate in candidates]
        sums = [problem.taken(each.length, each.parts) for each in free] or [
            problem.taken(template.rest + sum(problem.sticks[k].length for k in template.wholes), template.parts)
            for template in templates
        ]
        runs += min(sums, default=0)
    return pieces + runs


class ReachableCosts:
    """The costs that sticks of enough length together can make, up to ``most``."""

    def __init__(self, problem: LapProblem, length: int, most: int) -> None:
        """``length`` is what pieces with their kerfs take up together."""
        self._length = length
        paid = [s for s in problem.sticks if s.cost > 0 and s.limit != 0]
        self._step = gcd(*(s.cost for s in paid)) or 1
        top = ceil(most / self._step)
        self._longest = self._table(problem, top) if top <= MOST_STEPS else None

    def _table(self, problem: LapProblem, top: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        """Return the most length (with a kerf a stick) that sticks of exactly each cost have, negative if none."""
        longest = np.full(top + 1, -(2**60), np.int64)
        free = (s for s in problem.sticks if s.cost == 0)
        longest[0] = sum(problem.taken(s.length) * (s.limit or 0) for s in free)
        for stick in problem.sticks:
            if stick.cost > 0 and stick.limit != 0:
                cost, length = stick.cost // self._step, problem.taken(stick.length)
                most = top // cost if stick.limit is None else min(stick.limit, top // cost)
                for times in halves(most):
                    tried = longest[: len(longest) - cost * times] + length * times
                    longest[cost * times :] = np.maximum(longest[cost * times :], tried)
        return longest

    def lift(self, bound: Fraction) -> int:
        """Return the least cost, no less than the bound, of sticks that are long enough together."""
        least = ceil(bound / self._step)
        if self._longest is None:
            return least * self._step
        enough = np.flatnonzero(self._longest[least:] >= self._length)
        return (least + int(enough[0])) * self._step if len(enough) else least * self._step
