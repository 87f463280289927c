"""The most valuable patterns where cutting a stick costs, and the linear program over all of them.

Let ``c_p`` be what cutting a stick by pattern ``p`` costs (``saw``). Whatever pieces are worth, values ``v`` and
``gain_k = max(0, max_p v a_p - c_p)`` over all patterns of stick ``k`` say of any numbers ``n`` of sticks cut::

    cutting costs  >=  sum demand_i v_i - sum gain_k n_k

by duality, and all in whole numbers (a cut of Benders 1962); ``c_p`` bears a share of what setting the saw up costs.
The linear program proposes values, at given numbers of sticks or at prices for them. A pattern's offcut depends on what
its pieces take together, so the table over lengths holds the best worth for exactly each length.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import gcd, inf

import numpy as np
from numpy.typing import NDArray

from solver.buying.saw import Saw, cuts_of, way_of
from solver.cutting.problem import CuttingProblem, Pattern
from solver.lp.glop import FINE_DUALS, NEARLY, LinearProgram
from solver.watch import Watch

Ints = NDArray[np.int64]
MOST_WIDTH = 20_000
"""Sticks of more units than this are priced in coarser ones."""
VALUE_BITS = 30
"""The dearest stick has so many bits in the parts that values are cut into."""
NONE = -(2**61)
"""The worth of what is impossible; all worths of a table add up to less."""
ROUNDS = 400
"""Rounds of column generation at most."""
MISSING = 30
"""A piece that the known patterns can't cut costs as much as so many of the dearest sticks."""


@dataclass(frozen=True, slots=True)
class Gains:
    """That cutting costs ``worth`` less ``gains`` times the sticks of each kind, or more, all in parts of ``scale``."""

    scale: int
    gains: tuple[int, ...]
    worth: int


class Pricer:
    """One material's most valuable patterns."""

    def __init__(self, problem: CuttingProblem, saw: Saw, scale: int) -> None:
        """Measure all lengths in the largest unit that pieces take whole numbers of, wide sticks in a coarser one.

        What pieces take is rounded down then, so that patterns are worth no less than they are.
        """
        self._problem, self._saw, self._scale = problem, saw, scale
        takes = [problem.taken(piece.length) for piece in problem.pieces]
        widest = max((problem.taken(stick.length) for stick in problem.sticks), default=0)
        exact = gcd(*takes) or 1
        self._unit = max(exact, -(-widest // MOST_WIDTH))
        # pieces that use a stick up may all have been rounded
        self._slack = self._unit * (widest // max(1, min(takes, default=1)) + 1) if self._unit > exact else 1
        self._takes = [taken // self._unit for taken in takes]
        self._widths = [problem.taken(stick.length) // self._unit for stick in problem.sticks]
        self._losses = [self._loss(k) for k in range(len(problem.sticks))]

    def _loss(self, k: int) -> Ints:
        """Return what a stick is worth less where so many units are taken, and less the cut saved where all may be."""
        length, whole = self._problem.sticks[k].length, self._problem.taken(self._problem.sticks[k].length)
        full = self._saw.value(length)
        lost = [
            full
            - self._saw.value(max(0, length - n * self._unit))
            - self._saw.cut * (whole - n * self._unit < self._slack)
            for n in range(self._widths[k] + 1)
        ]
        return np.array(lost, np.int64) * self._scale

    def _fits(self, pattern: Pattern) -> bool:
        taken = sum(self._problem.taken(self._problem.pieces[i].length) for i in pattern.pieces)
        return taken <= self._problem.taken(self._problem.sticks[pattern.stick].length)

    def best(self, values: Sequence[int]) -> list[tuple[int, Pattern | None]]:
        """Return for each kind of stick its most valuable pattern, net of what cutting it costs; 0 and none if none.

        Each use of a pattern bears a share of its set-up (``_alike``). So pieces are let in by falling numbers alike,
        and each time the best pattern of those is looked for.
        """
        pieces, saw, scale = self._problem.pieces, self._saw, self._scale
        alike = _alike(self._problem)
        wanted = [i for i, piece in enumerate(pieces) if piece.demand and values[i] > 0]
        found: list[tuple[int, Pattern | None]] = [(0, None)] * len(self._widths)
        table = _Table(max(self._widths), [value - scale * saw.cut for value in values], self._takes)
        for uses in sorted({alike[i] for i in wanted}, reverse=True) if saw.pattern else [1]:
            among = [i for i in wanted if alike[i] >= uses]
            table.let_in((i, pieces[i].demand) for i in among if not (pieces[i].left or pieces[i].right))
            for k in range(len(self._widths)):
                worth, pattern = self._of(k, table, among)
                found[k] = max(found[k], (worth - scale * saw.pattern // uses, pattern), key=lambda each: each[0])
        return [max(best, self._whole(k, wanted, values), key=lambda each: each[0]) for k, best in enumerate(found)]

    def _of(self, k: int, table: _Table, among: Sequence[int]) -> tuple[int, Pattern | None]:
        """Return the most valuable pattern of a stick with its end pieces from ``among`` some."""
        stick, pieces = self._problem.sticks[k], self._problem.pieces
        lefts = [i for i in among if stick.left and pieces[i].left and not pieces[i].right]
        rights = [i for i in among if stick.right and pieces[i].right and not pieces[i].left]
        worth, inside = table.best(self._widths[k], lefts, rights, self._losses[k])
        pattern = Pattern(k, tuple(sorted(inside)))
        return worth, pattern if inside and self._fits(pattern) else None

    def _whole(self, k: int, wanted: Sequence[int], values: Sequence[int]) -> tuple[int, Pattern | None]:
        """Return the most valuable piece that is the whole stick: no cut, and no pattern to set up for."""
        stick, pieces = self._problem.sticks[k], self._problem.pieces
        fits = [
            i
            for i in wanted
            if pieces[i].length == stick.length
            and (stick.left or not pieces[i].left)
            and (stick.right or not pieces[i].right)
        ]
        best = max(fits, key=lambda i: values[i], default=None)
        if best is None:
            return 0, None
        return values[best] - self._scale * self._saw.value(stick.length), Pattern(k, (best,))


def _alike(problem: CuttingProblem) -> list[int]:
    """Return for each piece how many are as long, whatever their ends: no way to cut that has it is used more often.

    So setting the saw up for a way, over the least of these of its pieces, is what each use bears of it at the least.
    """
    longs = Counter[int]()
    for piece in problem.pieces:
        longs[piece.length] += piece.demand
    return [longs[piece.length] for piece in problem.pieces]


class _Table:
    """The most that free pieces are worth that take exactly so many units together."""

    def __init__(self, width: int, net: Sequence[int], takes: Sequence[int]) -> None:
        self._net, self._takes = net, takes
        self._layers: list[tuple[int, int, Ints]] = []
        self._known: set[int] = set()
        self._best = np.full(width + 1, NONE, np.int64)
        self._best[0] = 0

    def let_in(self, free: Iterable[tuple[int, int]]) -> None:
        """Let these pieces in, each as often as it is wanted; those that are in already stay."""
        for i, demand in free:
            if i in self._known:
                continue
            self._known.add(i)
            most = (len(self._best) - 1) // self._takes[i] if self._takes[i] else demand
            for copies in _halves(min(demand, most)):
                before, step = self._best, copies * self._takes[i]
                self._best = before.copy()
                shifted = before[: len(before) - step] + copies * self._net[i]
                np.maximum(self._best[step:], shifted, out=self._best[step:])
                self._layers.append((i, copies, before))

    def best(self, width: int, lefts: Sequence[int], rights: Sequence[int], losses: Ints) -> tuple[int, list[int]]:
        """Return the best worth within a width less its losses, at most one piece at each end, and its pieces."""
        stages = [self._best[: width + 1]]
        for ends in (lefts, rights):
            stage = stages[-1].copy()
            for i in ends:
                step = self._takes[i]
                if step <= width:
                    np.maximum(stage[step:], stages[-1][: width + 1 - step] + self._net[i], out=stage[step:])
            stages.append(stage)
        at = int(np.argmax(stages[-1] - losses))
        worth, pieces = int(stages[-1][at] - losses[at]), []
        for ends, stage, before in ((rights, stages[2], stages[1]), (lefts, stages[1], stages[0])):
            if stage[at] != before[at]:
                fits = (i for i in ends if self._takes[i] <= at)
                i = next(i for i in fits if before[at - self._takes[i]] + self._net[i] == stage[at])
                pieces.append(i)
                at -= self._takes[i]
        return worth, pieces + self._inside(at)

    def _inside(self, at: int) -> list[int]:
        pieces, now = [], self._best
        for i, copies, before in reversed(self._layers):
            if now[at] != before[at]:
                pieces += [i] * copies
                at -= copies * self._takes[i]
            now = before
        return pieces


def _halves(most: int) -> Iterator[int]:
    """Yield numbers of which some add up to each number up to ``most``, and none to more."""
    step = 1
    while most > 0:
        yield min(step, most)
        most -= step
        step *= 2


class Relaxed:
    """The linear program over all patterns of a material, with its sticks at prices or in given numbers."""

    def __init__(self, problem: CuttingProblem, saw: Saw, prices: Sequence[float]) -> None:
        """``prices`` of every kind of stick, those on hand at 0."""
        dearest = max(1.0, *prices) + saw.cut + saw.value(max(stick.length for stick in problem.sticks))
        self.scale = max(1, int(2**VALUE_BITS / dearest))
        self.pricer = Pricer(problem, saw, self.scale)
        self._problem, self._saw, self._prices = problem, saw, prices
        self._demands = [piece.demand for piece in problem.pieces]
        self._alike = _alike(problem)
        self.patterns: dict[Pattern, None] = {}
        self._program = LinearProgram(dual_tolerance=FINE_DUALS)
        self._covers = [self._program.row(demand) for demand in self._demands]
        self._sticks = [self._program.row(-inf, 0) for _ in problem.sticks]
        for row in self._covers:
            row.SetCoefficient(self._program.column(MISSING * dearest), 1)
        self._numbers = [self._program.column(0) for _ in problem.sticks]
        for row, number in zip(self._sticks, self._numbers, strict=True):
            row.SetCoefficient(number, -1)

    def add(self, pattern: Pattern) -> bool:
        """Add a pattern, and say whether it is new."""
        if pattern in self.patterns:
            return False
        self.patterns[pattern] = None
        way, kerf = way_of(self._problem, pattern), self._problem.kerf
        share = self._saw.pattern / max(1, min(self._alike[i] for i in pattern.pieces)) if cuts_of(way, kerf) else 0.0
        column = self._program.column(self._saw.cost(way, kerf) + share)
        self._sticks[pattern.stick].SetCoefficient(column, 1)
        for i, copies in Counter(pattern.pieces).items():
            self._covers[i].SetCoefficient(column, copies)
        return True

    def at_prices(self, watch: Watch) -> Gains | None:
        """Return what holds of cutting where each stick has its price and may be had up to its limit."""
        for number, price, stick in zip(self._numbers, self._prices, self._problem.sticks, strict=True):
            self._program.price(number, price)
            number.SetBounds(0.0, inf if stick.limit is None else stick.limit)
        return self._solved(watch)

    def at_numbers(self, numbers: Sequence[int], watch: Watch) -> Gains | None:
        """Return what holds of cutting, as high as can be for these numbers of sticks."""
        for number, count in zip(self._numbers, numbers, strict=True):
            self._program.price(number, 0)
            number.SetBounds(0.0, count)
        return self._solved(watch)

    def _solved(self, watch: Watch) -> Gains | None:
        """Add patterns until none is worth more than its stick."""
        found = None
        for _ in range(ROUNDS):
            if watch.stopped or not self._program.optimal(watch):
                break
            duals = list(self._program.solution().dual_value)
            size = len(self._demands)
            values = [max(0, int(dual * self.scale)) for dual in duals[:size]]
            best = self.pricer.best(values)
            worth = sum(demand * value for demand, value in zip(self._demands, values, strict=True))
            found = Gains(self.scale, tuple(gain for gain, _ in best), worth)
            new = [
                self.add(pattern)
                for (gain, pattern), dual in zip(best, duals[size:], strict=False)
                if pattern is not None and gain > (-dual + NEARLY) * self.scale
            ]
            if not any(new):
                break
        return found
