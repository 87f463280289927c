"""All patterns worth more than a floor, on sticks of any width: lists of states, pruned by ceilings and dominance.

A state is a stick begun: the length used, the worth held, the factory ends used. Piece by piece,
longest first, every state goes on with 0, 1, 2, … copies (Horowitz and Sahni 1974). A state is dropped if
no stick can be worth more than its floor from there on (``Ceiling.most``), or if another one with the same
ends uses no more and is worth no less (the dominated lists of Nemhauser and Ullmann 1969). Lists that grow too long are
split and gone through one after the other, so memory stays bounded and the search stays exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.cutting.pricing import IntVector
from solver.cutting.problem import Pattern
from solver.cutting.wide_ceiling import Ceiling
from solver.watch import Watch

LONGEST = 1 << 15
"""States in one list before it is split."""

LONG = 1 << 12
"""States in one list before the dominated ones are dropped: until then they are patterns worth having."""

ENOUGH = 100
"""Patterns after which the search stops: the linear program will price anew anyway."""


@dataclass(frozen=True, slots=True)
class _States:
    """States after ``depth`` pieces are decided on; ``s`` is ``parent``'s ``origin[s]`` and ``times[s]`` more."""

    depth: int
    used: IntVector
    worth: IntVector
    ends: IntVector
    origin: IntVector
    times: IntVector
    parent: _States | None

    def pick(self, which: NDArray[np.intp]) -> _States:
        arrays = (self.used, self.worth, self.ends, self.origin, self.times)
        used, worth, ends, origin, times = (array[which] for array in arrays)
        return _States(self.depth, used, worth, ends, origin, times, self.parent)


class Search:
    """One search; after ``run`` it holds the patterns found, and whether it went through all of them."""

    def __init__(self, ceiling: Ceiling, floors: Sequence[int]) -> None:
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
        todo = [_States(0, starts.used, starts.worth, starts.ends, rows, np.zeros_like(rows), None)]
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
        return _States(states.depth + 1, used, worth, states.ends[origin], origin, taken, states)

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
