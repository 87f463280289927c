"""Exact pricing on sticks of any width: a search over states, pruned by completion bounds and dominance.

A completion bound says how much the rest of a stick can be worth at most, by a knapsack on a coarse grid with lengths
rounded down: a table by piece and cell (backward dynamic programming over the pieces): what room ``r`` and the pieces
from ``j`` on can be worth is at most ``rest[j][r // cell]``, because ``sum floor(l / cell) <= floor(r / cell)`` for
whatever fits in ``r``.

The search finds all patterns worth more than a floor. A state is a stick begun: the length used, the worth held, the
factory ends used. Piece by piece, longest first, every state goes on with 0, 1, 2, … copies (Horowitz and Sahni
1974). A state is dropped if no stick can be worth more than its floor from there on (``CompletionBound.most``), or if
another one with the same ends uses no more and is worth no less (the dominated lists of Nemhauser and Ullmann 1969).
Lists that grow too long are split and gone through one after the other, so memory stays bounded and the search stays
exact.

``ScaledPricer`` puts two coarse grids before the exact search. With ticks of 1/8128 in a stick is a million units
wide. Lengths rounded **up** to a coarse grid give patterns that really fit; rounded **down** they give ceilings that
are really above (the scaling of Ibarra and Kim 1975, used on both sides). As long as the first finds patterns worth
adding, that is all that column generation needs. When it finds none and the ceilings still allow some, the exact
search settles what lies between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from numpy.typing import NDArray

from solver.cutting.pricing.protocol import IntVector, Prices
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import CuttingProblem, Pattern, Stick
from solver.cutting.reachable import halves
from solver.watch import Watch

LONGEST = 1 << 15
"""States in one list before it is split."""
LONG = 1 << 12
"""States in one list before the dominated ones are dropped: until then they are patterns worth having."""
ENOUGH = 100
"""Patterns after which the search stops: the linear program will price anew anyway."""
CELLS = 8192
"""Cells of the coarse grid over the longest stick, unless told otherwise."""


class CompletionBound:
    """The table for one set of values.

    ``pieces`` lists the pieces of the table, longest first: those of worth that need no factory end.
    ``rest`` is the table (pieces + 1, cells). ``starts`` are the ways to begin a stick: nothing, or a piece at its
    left end, its right end, or both.
    """

    def __init__(
        self, problem: CuttingProblem, sticks: Sequence[Stick], cell: int, values: IntVector, copies: IntVector
    ) -> None:
        """``cell``: width of a cell in units of length."""
        self.sticks, self.cell, self.values = sticks, cell, values
        self.lengths = np.array([piece.length for piece in problem.pieces], np.int64)
        widest = max(stick.length for stick in sticks)
        self.copies = np.minimum(copies, widest // self.lengths)
        worthy = [i for i in range(len(values)) if values[i] > 0 and self.copies[i] > 0]
        self.pieces = [i for i in worthy if not (problem.pieces[i].left or problem.pieces[i].right)]
        self.starts = _Starts(problem, worthy, values)
        self.rest = self._table(widest // cell + 1)

    def _table(self, cells: int) -> IntVector:
        rest = np.zeros((len(self.pieces) + 1, cells), np.int64)
        for j in reversed(range(len(self.pieces))):
            i = self.pieces[j]
            rest[j] = rest[j + 1]
            for times in halves(int(self.copies[i])):
                _add(rest[j], times * int(self.lengths[i]) // self.cell, times * int(self.values[i]))
        return rest

    def open(self, k: int, used: IntVector, ends: IntVector) -> NDArray[np.bool_]:
        """Say in which states a stick ``k`` can be: its length and its factory ends suffice."""
        stick = self.sticks[k]
        fits: NDArray[np.bool_] = (used <= stick.length) & ((ends & ~(stick.left + 2 * stick.right)) == 0)
        return fits

    def most(self, k: int, j: int, used: IntVector, worth: IntVector, ends: IntVector) -> IntVector:
        """Return what stick ``k`` can be worth at most from these states and piece ``j`` on; -1 if it can't be."""
        room = np.maximum(self.sticks[k].length - used, 0) // self.cell
        return np.where(self.open(k, used, ends), worth + self.rest[j][room], -1)

    def tops(self) -> tuple[int, ...]:
        """Return what each stick can be worth at most."""
        start = self.starts
        most = [self.most(k, 0, start.used, start.worth, start.ends) for k in range(len(self.sticks))]
        return tuple(int(values.max()) for values in most)


class _Starts:
    """All ways to put pieces at the factory ends of a stick, the empty way first; one entry a way in each array."""

    def __init__(self, problem: CuttingProblem, worthy: Sequence[int], values: IntVector) -> None:
        pieces = problem.pieces
        lefts = [[], *([i] for i in worthy if pieces[i].left and not pieces[i].right)]
        rights = [[], *([i] for i in worthy if pieces[i].right and not pieces[i].left)]
        self.held = [left + right for left, right in product(lefts, rights)]
        self.used = np.array([sum(pieces[i].length for i in held) for held in self.held], np.int64)
        self.worth = np.array([sum(int(values[i]) for i in held) for held in self.held], np.int64)
        self.ends = np.array([sum(pieces[i].left + 2 * pieces[i].right for i in held) for held in self.held], np.int64)


def _add(row: IntVector, cells: int, value: int) -> None:
    """Let a part of this width and value be used once more, or not."""
    if cells == 0:
        row += value
    elif cells < len(row):
        np.maximum(row[cells:], row[:-cells] + value, out=row[cells:])


@dataclass(frozen=True, slots=True)
class _States:
    """States after ``depth`` pieces are decided on; ``s`` is ``parent``'s ``origin[s]`` and ``times[s]`` more.

    All arrays have an entry for each state: length ``used``, ``worth`` held, factory ``ends`` used (1 left, 2 right).
    """

    depth: int
    used: IntVector
    worth: IntVector
    ends: IntVector
    origin: IntVector
    times: IntVector
    parent: _States | None

    def pick(self, which: NDArray[np.intp]) -> _States:
        """Return the states at these places."""
        arrays = (self.used, self.worth, self.ends, self.origin, self.times)
        used, worth, ends, origin, times = (array[which] for array in arrays)
        return _States(
            depth=self.depth, used=used, worth=worth, ends=ends, origin=origin, times=times, parent=self.parent
        )


class LabelSearch:
    """One search; after ``run`` it holds the patterns found, and whether it went through all of them."""

    def __init__(self, ceiling: CompletionBound, floors: Sequence[int]) -> None:
        """Look for patterns of stick ``k`` worth more than ``floors[k]``."""
        self._ceiling = ceiling
        self._floors = list(floors)
        self._best = list(floors)
        self._found: dict[Pattern, int] = {}
        self._complete = False
        self.looked_at = 0

    def run(self, watch: Watch, most: int | None = None) -> None:
        """Search until all is gone through, ``ENOUGH`` is found, ``most`` states are made, or ``watch`` stops it."""
        starts = self._ceiling.starts
        rows = np.arange(len(starts.used))
        todo = [
            _States(
                depth=0,
                used=starts.used,
                worth=starts.worth,
                ends=starts.ends,
                origin=rows,
                times=np.zeros_like(rows),
                parent=None,
            )
        ]
        while todo and len(self._found) < ENOUGH and (most is None or self.looked_at < most) and not watch.stopped:
            states = self._undominated(self._promising(todo.pop()))
            if states.depth == len(self._ceiling.pieces):
                self._keep(states)
            elif len(states.used) > LONGEST:
                todo += self._split(states)
            elif len(states.used):
                todo.append(self._grown(states))
                self.looked_at += len(todo[-1].used)
        self._complete = not todo and len(self._found) < ENOUGH

    def ceilings(self, before: Sequence[int]) -> tuple[int, ...]:
        """Return what no pattern is worth more than: sharp if all was gone through, else as known ``before``."""
        if not self._complete:
            return tuple(before)
        return tuple(min(top, best) for top, best in zip(before, self._best, strict=True))

    def patterns(self) -> tuple[Pattern, ...]:
        """Return the patterns found, by stick, worth most first."""
        return tuple(sorted(self._found, key=lambda pattern: (pattern.stick, -self._found[pattern], pattern.pieces)))

    def _promising(self, states: _States) -> _States:
        good = np.zeros(len(states.used), np.bool_)
        for k, floor in enumerate(self._floors):
            good |= self._ceiling.most(k, states.depth, states.used, states.worth, states.ends) > floor
        return states if good.all() else states.pick(np.flatnonzero(good))

    def _undominated(self, states: _States) -> _States:
        if states.depth == len(self._ceiling.pieces) or len(states.used) < LONG:
            return states
        order = np.lexsort((-states.worth, states.used))
        kept = np.zeros(len(order), np.bool_)
        for ends in np.unique(states.ends):
            alike = order[states.ends[order] == ends]
            worth = states.worth[alike]
            before = np.maximum.accumulate(worth)[:-1]
            kept[alike[np.concatenate(([True], worth[1:] > before))]] = True
        return states if kept.all() else states.pick(np.flatnonzero(kept))

    def _grown(self, states: _States) -> _States:
        """Decide on the next piece: all states with 0, 1, 2, … copies of it."""
        i = self._ceiling.pieces[states.depth]
        length, value = int(self._ceiling.lengths[i]), int(self._ceiling.values[i])
        widest = max(stick.length for stick in self._ceiling.sticks)
        rows, times = [], []
        for copies in range(int(self._ceiling.copies[i]) + 1):
            fit = np.flatnonzero(states.used + copies * length <= widest)
            if not fit.size:
                break
            rows.append(fit)
            times.append(np.full(len(fit), copies))
        origin, taken = np.concatenate(rows), np.concatenate(times)
        used, worth = states.used[origin] + taken * length, states.worth[origin] + taken * value
        return _States(
            depth=states.depth + 1,
            used=used,
            worth=worth,
            ends=states.ends[origin],
            origin=origin,
            times=taken,
            parent=states,
        )

    @staticmethod
    def _split(states: _States) -> list[_States]:
        """Return halves, those worth most for their length to be gone through first."""
        order = np.argsort(states.worth / np.maximum(1, states.used), kind="stable")
        half = len(order) // 2
        return [states.pick(np.sort(part)) for part in (order[:half], order[half:])]

    def _keep(self, states: _States) -> None:
        for k, floor in enumerate(self._floors):
            here = self._ceiling.open(k, states.used, states.ends) & (states.worth > floor)
            places = np.flatnonzero(here)
            places = places[np.argsort(-states.worth[places], kind="stable")]
            for place in places[:ENOUGH].tolist():
                self._found[Pattern(k, self._pieces(states, place))] = int(states.worth[place])
            if places.size:
                self._best[k] = max(self._best[k], int(states.worth[places[0]]))

    def _pieces(self, states: _States, place: int) -> tuple[int, ...]:
        held: list[int] = []
        while states.parent is not None:
            held += [self._ceiling.pieces[states.depth - 1]] * int(states.times[place])
            place, states = int(states.origin[place]), states.parent
        return tuple(sorted(held + self._ceiling.starts.held[int(states.origin[place])]))


class ScaledPricer:
    """Prices sticks of any width at the cost of a table of ``CELLS`` columns."""

    def __init__(self, problem: CuttingProblem, priced: int, cells: int = CELLS, states: int | None = None) -> None:
        """``priced``: only sticks before this index are priced; ``cells``: how fine the coarse grid is.

        ``states``: what exact searches may look at in all; None is as much as it takes.
        """
        self._problem = problem
        self._sticks = problem.sticks[:priced]
        self._cell = max(1, -(-max((stick.length for stick in self._sticks), default=0) // cells))
        self._states = states
        self._coarse = TablePricer(_coarser(problem, priced, self._cell), priced)

    def price(self, values: IntVector, copies: IntVector, floors: Sequence[int], watch: Watch) -> Prices:
        """See ``Pricer.price``; ceilings are sharp where no coarse pattern is worth more than its floor."""
        found = self._coarse.price(values, copies, floors, watch).patterns
        floors = floors[: len(self._sticks)]
        ceiling = CompletionBound(self._problem, self._sticks, self._cell, values, copies)
        ceilings = ceiling.tops()
        if found or all(top <= floor for top, floor in zip(ceilings, floors, strict=True)):
            return Prices(ceilings, found)
        search = LabelSearch(ceiling, floors)
        search.run(watch, self._states)
        if self._states is not None:
            self._states -= search.looked_at
        return Prices(search.ceilings(ceilings), search.patterns())


def _coarser(problem: CuttingProblem, priced: int, cell: int) -> CuttingProblem:
    """Return the problem on the grid, pieces rounded up and sticks down: what fits there fits."""
    sticks = tuple(replace(stick, length=stick.length // cell) for stick in problem.sticks[:priced])
    pieces = tuple(replace(piece, length=-(-piece.length // cell)) for piece in problem.pieces)
    return CuttingProblem(sticks, pieces)
