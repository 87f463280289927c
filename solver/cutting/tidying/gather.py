"""The pool to tidy over: every proper pattern if there are not too many, else those that can save scrap.

A stick's scrap is either what its pieces leave of it, or, where that is long enough to keep, the kerf
alone. So every kind of stick is two: a *full* one, where a piece pays for its own length, and a *kept*
one, shorter by the least length kept, where it pays for its kerf. Each is a knapsack like any other.

Where there are too many to list, columns are generated for least scrap (Gilmore and Gomory 1961, with scrap for
cost and the cost as a cap), a first integer program over them gives a better plan, and then every
pattern is listed whose reduced cost is within the gap: no plan of less scrap, nor any other of as
little, has one that is not on the list.

A pattern is proper if it holds no piece more often than it is wanted (Scheithauer and Terno 1995); such are listed
depth first. Given what each piece is worth, only patterns worth a floor or more are listed: those are all that a plan
within a known gap of the linear program can contain (reduced-cost fixing, e.g. Irnich, Desaulniers, Desrosiers and
Hadjar 2010).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import gcd

import numpy as np

from solver.cutting.pricing.labels import ScaledPricer
from solver.cutting.pricing.protocol import MOST_VALUE, IntVector, Pricer, Prices
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.cutting.tidying.pool import Aim, Pool, Uses, go_on
from solver.cutting.tidying.programs import Floats, Relaxation, RowDuals, arrange
from solver.watch import Watch

WIDE = 20_000
"""Up to this width, in common divisors, a table by length is fastest."""
STEPS = 20_000
"""Search steps in which patterns must be listed."""
WORK = 2_000
"""Nodes times columns in the first integer program."""
STATES = 4_000_000
"""States that exact pricing may look at on wide sticks; about a second. Where little is scrap it is less:"""
RICH = 20
"""all of them where one part in so many of what is cut is scrap or more, none where nothing is."""
PRICED = 6_000
"""Rounds of column generation times kinds of pieces."""


@dataclass(frozen=True, slots=True)
class Worth:
    """The duals as whole numbers: a pattern of stick ``k`` that is worth its floor or more is of use.

    ``full[i]`` and ``kept[i]`` are what piece ``i`` is worth on either kind, floors are by stick.
    """

    scale: int
    full: IntVector
    kept: IntVector
    full_floors: tuple[int, ...]
    kept_floors: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Priced:
    """Patterns found, and whether it is known that where there are none there are none."""

    patterns: tuple[Pattern, ...]
    sure: bool


class ScrapPricer:
    """Prices patterns by the scrap they save; ``states`` is what exact searches may look at on wide sticks."""

    def __init__(self, problem: CuttingProblem, states: int) -> None:
        self.states = states // 2
        self.problem, self.demand = problem, np.array([piece.demand for piece in problem.pieces], np.int64)
        self.step = gcd(*(problem.taken(piece.length) for piece in problem.pieces))
        pieces = tuple(replace(p, length=problem.taken(p.length) // self.step) for p in problem.pieces)
        self.full_room = [problem.taken(stick.length) for stick in problem.sticks]
        self.kept_room = [max(0, stick.length - max(1, problem.keep_from)) for stick in problem.sticks]
        self.full, self.kept = (self._pricer(pieces, room) for room in (self.full_room, self.kept_room))

    def _pricer(self, pieces: tuple[Piece, ...], rooms: Sequence[int]) -> Pricer:
        sticks = tuple(replace(s, length=room // self.step) for s, room in zip(self.problem.sticks, rooms, strict=True))
        priced = CuttingProblem(sticks, pieces)
        if max(rooms) <= WIDE * self.step:
            return TablePricer(priced, len(sticks))
        return ScaledPricer(priced, len(sticks), states=self.states)

    def worth(self, duals: RowDuals) -> Worth:
        """Return the duals as whole numbers."""
        lengths = np.array([piece.length for piece in self.problem.pieces], np.float64)
        charges = self._charges(duals)
        sticks = np.array([stick.length for stick in self.problem.sticks], np.float64)
        full, kept = duals.pieces + lengths, duals.pieces - (self.problem.taken(lengths) - lengths)
        scale = MOST_VALUE // int(4 * max(1.0, *(full / lengths * sticks.max()), *(sticks + abs(charges))))
        return Worth(
            scale,
            np.rint(full * scale).astype(np.int64),
            np.rint(kept * scale).astype(np.int64),
            tuple(int(x) for x in np.rint((sticks - charges) * scale)),
            tuple(int(x) for x in np.rint(-charges * scale)),
        )

    def _charges(self, duals: RowDuals) -> Floats:
        """What a stick of each kind is charged for its limit and its cost."""
        charges: Floats = np.array(self.problem.least_costs, np.float64) * duals.caps[0]
        limited = [k for k, stick in enumerate(self.problem.sticks) if stick.limit is not None]
        charges[limited] += duals.limits
        return charges

    def price(self, worth: Worth, watch: Watch) -> Priced:
        """Return patterns worth more than their floor."""
        full = self.full.price(np.maximum(worth.full, 0), self.demand, worth.full_floors, watch)
        kept = self.kept.price(np.maximum(worth.kept, 0), self.demand, worth.kept_floors, watch)
        sure = _sure(full, worth.full_floors) and _sure(kept, worth.kept_floors)
        return Priced((*full.patterns, *kept.patterns), sure)

    def within(self, worth: Worth, gap: float, steps: int, watch: Watch) -> list[Pattern]:
        """List every pattern within ``gap`` of its floor; raises ``TooMany`` where that takes too many ``steps``."""
        slack = int(gap * worth.scale) + 1
        full = zip(self.full_room, worth.full_floors, strict=True)
        kept = zip(self.kept_room, worth.kept_floors, strict=True)
        wanted = [Wanted(k, room, worth.full.tolist(), floor - slack) for k, (room, floor) in enumerate(full)]
        wanted += [Wanted(k, room, worth.kept.tolist(), floor - slack) for k, (room, floor) in enumerate(kept)]
        return listed(self.problem, wanted, steps, watch)


def _sure(found: Prices, floors: Sequence[int]) -> bool:
    """Whether patterns were found, or it is shown that there are none."""
    return bool(found.patterns) or all(top <= floor for top, floor in zip(found.ceilings, floors, strict=True))


@dataclass(frozen=True, slots=True)
class Gathered:
    """A pool, a plan over it no less tidy than the one begun from, and whether nothing tidier lies outside."""

    pool: Pool
    uses: Uses
    complete: bool


def gather(problem: CuttingProblem, uses: Uses, watch: Watch) -> Gathered:
    """Gather the pool for plans that cost no more than ``uses``, which cuts all of ``problem``.

    Raises ``OutOfTime``.
    """
    try:
        return Gathered(Pool.of(problem, proper_patterns(problem, STEPS, watch), watch), uses, complete=True)
    except TooMany:
        return _generated(problem, uses, watch)


def _generated(problem: CuttingProblem, uses: Uses, watch: Watch) -> Gathered:
    pool = Pool.of(problem, [pattern for pattern, _ in uses], watch)
    pricer = ScrapPricer(problem, int(STATES * min(1.0, RICH * _scrap_share(problem, pool, uses))))
    aim = Aim("scrap", {"cost": pool.total("cost", pool.counts(uses))})
    columns = _columns(problem, pool, pricer, aim, watch)
    better = arrange(columns.pool, aim, columns.pool.counts(uses), WORK, watch).counts
    useful = None
    if columns.duals is not None:
        gap = columns.pool.total("scrap", better) - columns.duals.bound
        useful = _useful(pricer, columns.duals, gap, watch)
    patterns = [*columns.pool.patterns, *(useful or ())]
    return Gathered(Pool.of(problem, patterns, watch), columns.pool.uses(better), useful is not None)


def _scrap_share(problem: CuttingProblem, pool: Pool, uses: Uses) -> float:
    """Return what can be gained at the most: the share of the sticks cut that is scrap."""
    cut = sum(problem.sticks[pattern.stick].length * count for pattern, count in uses)
    return pool.total("scrap", pool.counts(uses)) / cut


@dataclass(frozen=True, slots=True)
class _Columns:
    """Columns generated, and the duals at the end; None where more columns might be found."""

    pool: Pool
    duals: RowDuals | None


def _columns(problem: CuttingProblem, pool: Pool, pricer: ScrapPricer, aim: Aim, watch: Watch) -> _Columns:
    """Generate columns for the aim, which is least scrap."""
    program, fresh = Relaxation(pool, aim), pool
    known: set[Pattern] = set()
    duals = None
    for _ in range(max(3, PRICED // len(pool.demand))):
        known.update(fresh.patterns)
        program.add(*program.matrix(fresh))
        if (duals := program.duals()) is None:
            break
        priced = pricer.price(pricer.worth(duals), watch)
        found = set(priced.patterns) - known
        if not found:
            duals = duals if priced.sure else None
            break
        fresh = Pool.of(problem, found, watch)
    else:
        duals = None
    go_on(watch)
    return _Columns(Pool.of(problem, known, watch), duals)


def _useful(pricer: ScrapPricer, duals: RowDuals, gap: float, watch: Watch) -> list[Pattern] | None:
    """List the patterns within the gap; None where they are too many."""
    try:
        return pricer.within(pricer.worth(duals), gap, STEPS, watch)
    except TooMany:
        return None


CELLS = 1_024
"""Cells that a stick is cut into where its patterns are counted beforehand."""

DEEPEST = 400
"""Different pieces in one pattern, at most, so that the recursion stays shallow."""


LOOK = 500
"""Steps between two looks at the watch."""


class TooMany(Exception):
    """There are more patterns, or more steps to find them, than allowed."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which patterns of one stick to list: filled to ``room`` (kerf after every piece) and worth ``floor`` or more."""

    stick: int
    room: int
    values: Sequence[int]
    floor: int


@dataclass(frozen=True, slots=True)
class _Item:
    piece: int
    length: int
    value: int
    most: int
    ends: int
    """Which factory ends it needs: 1 the left, 2 the right."""


def proper_patterns(problem: CuttingProblem, steps: int, watch: Watch) -> list[Pattern]:
    """List every proper pattern of every stick; raises ``TooMany`` where that takes more than ``steps`` steps."""
    if sum(_at_least(problem, stick, steps) for stick in problem.sticks) > steps:
        raise TooMany
    values = [0] * len(problem.pieces)
    wanted = [Wanted(k, problem.taken(stick.length), values, 0) for k, stick in enumerate(problem.sticks)]
    return listed(problem, wanted, steps, watch)


def _at_least(problem: CuttingProblem, stick: Stick, most: int) -> int:
    """Return a number of patterns of a stick that there are at least, counted no further than somewhat above ``most``.

    Lengths are rounded up to cells, so what fits there fits; ``ways[c]`` counts what fits in ``c`` cells.
    """
    cell = -(-stick.length // CELLS)
    ways = np.ones(problem.taken(stick.length) // cell + 1, np.int64)
    for piece in (piece for piece in problem.pieces if not (piece.left or piece.right)):
        width, before = -(-problem.taken(piece.length) // cell), ways.copy()
        for copies in range(1, min(piece.demand, (len(ways) - 1) // width) + 1):
            ways[copies * width :] += before[: len(ways) - copies * width]
        np.minimum(ways, most + 1, out=ways)
        if ways[-1] > most:
            break
    return int(ways[-1])


def listed(problem: CuttingProblem, wanted: Sequence[Wanted], steps: int, watch: Watch) -> list[Pattern]:
    """List the proper patterns wanted; raises ``TooMany`` where that takes more than ``steps`` steps in all."""
    found: list[Pattern] = []
    for want in wanted:
        walk = _Walk(problem, want, steps, watch)
        found.extend(walk.patterns())
        steps = walk.steps
    return found


class _Walk:
    """One depth-first walk.

    Pieces that are worth most by length come first, so the rest of a stick is worth at most its room
    at the next piece's rate.
    """

    def __init__(self, problem: CuttingProblem, want: Wanted, steps: int, watch: Watch) -> None:
        self.want, self.steps, self.watch = want, steps, watch
        self.items = _items(problem, want)
        self.whole = [i for i in _whole(problem, want) if want.values[i] >= want.floor]
        self.chosen: list[int] = []
        self.found: list[Pattern] = []
        if self.items and want.room // min(item.length for item in self.items) > DEEPEST < len(self.items):
            raise TooMany

    def patterns(self) -> list[Pattern]:
        """Return every pattern found, those of one whole stick last."""
        self._extend(0, self.want.room, 0, 0)
        return [*self.found, *(Pattern(self.want.stick, (i,)) for i in self.whole)]

    def _extend(self, start: int, room: int, worth: int, ends: int) -> None:
        self.steps -= 1
        if self.steps < 0:
            raise TooMany
        if self.steps % LOOK == 0:
            go_on(self.watch)
        if self.chosen and worth >= self.want.floor:
            self.found.append(Pattern(self.want.stick, tuple(sorted(self.chosen))))
        for at in range(start, len(self.items)):
            item = self.items[at]
            if (self.want.floor - worth) * item.length > max(0, item.value) * room:
                return
            most = 0 if item.ends & ends else min(item.most, room // item.length)
            for n in range(1, most + 1):
                self.chosen.append(item.piece)
                self._extend(at + 1, room - n * item.length, worth + n * item.value, ends | item.ends)
            if most:
                del self.chosen[-most:]


def _items(problem: CuttingProblem, want: Wanted) -> list[_Item]:
    stick = problem.sticks[want.stick]
    items = [
        _Item(i, problem.taken(p.length), want.values[i], 1 if p.left or p.right else p.demand, p.left + 2 * p.right)
        for i, p in enumerate(problem.pieces)
        if p.demand and p.left <= stick.left and p.right <= stick.right and not (p.left and p.right)
    ]
    return sorted(items, key=lambda item: (Fraction(-item.value, item.length), item.piece))


def _whole(problem: CuttingProblem, want: Wanted) -> list[int]:
    """Pieces that are the whole stick: they need both of its ends."""
    stick = problem.sticks[want.stick]
    if not (stick.left and stick.right and want.room >= stick.length):
        return []
    return [i for i, p in enumerate(problem.pieces) if p.demand and p.left and p.right and p.length == stick.length]
