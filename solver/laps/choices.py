"""Whose turn it is, and in what a run may be laid: by the rules beside its neighbours, by the sticks that are left."""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from solver.laps.model import Ints, RunCandidate, holes_beside
from solver.laps.state import PartialPlan
from solver.laps.templates import Interval, levels, without

MOST_TRIED, FEWEST_TRIED = 400_000, 16
"""So many runs are tried as the next one, over all runs that are laid; and for each of them."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A candidate and the closed intervals of its first piece's length in ticks, ascending.

    ``lows`` has shape (intervals,), ``highs`` (intervals + 1,) with one more in front.
    """

    candidate: RunCandidate
    lows: Ints
    highs: Ints

    def longest_up_to(self, lengths: Ints) -> tuple[Ints, NDArray[np.bool_]]:
        """Return the longest first piece allowed that is no longer than each length, in ticks, and where there is none.

        Both have the shape of ``lengths``.
        """
        at = self.lows.searchsorted(lengths, "right")
        return np.minimum(np.maximum(lengths, self.candidate.low), self.highs[at]), at == 0


class LapChoices:
    """The choices of every run in a partial plan, worked out again when a neighbour has moved."""

    def __init__(self, partial: PartialPlan) -> None:
        self._partial = partial
        self._keeping: dict[int, tuple[Choice, ...]] = {}
        self._breaking: dict[int, tuple[tuple[int, Choice], ...]] = {}

    def choices(self, run: int, may_use: Callable[[Choice], bool]) -> list[Choice]:
        """Return the candidates of a run, of those that may be used, that break the fewest rules beside neighbours."""
        for changed in self._partial.changed:
            self._keeping.pop(changed, None)
            self._breaking.pop(changed, None)
        self._partial.changed.clear()
        if run not in self._keeping:
            self._keeping[run] = tuple(self._keeping_all(run))
        if kept := [choice for choice in self._keeping[run] if may_use(choice)]:
            return kept
        if run not in self._breaking:
            self._breaking[run] = tuple(self._breaking_some(run))
        found = [(broken, choice) for broken, choice in self._breaking[run] if may_use(choice)]
        least = min((broken for broken, _ in found), default=0)
        return [choice for broken, choice in found if broken == least]

    def _holes(self, candidate: RunCandidate) -> list[Interval]:
        return [*candidate.holes, *holes_beside(self._partial.model, candidate, self._partial.laps)]

    def _keeping_all(self, run: int) -> Iterator[Choice]:
        for candidate in self._partial.model.candidates[run]:
            if candidate.broken == 0 and (kept := without(candidate.low, candidate.high, self._holes(candidate))):
                yield _choice(candidate, kept)

    def _breaking_some(self, run: int) -> Iterator[tuple[int, Choice]]:
        """Yield each candidate where it breaks one number of rules, with that number, fewest first."""
        for candidate in self._partial.model.candidates[run]:
            cut = list(levels(candidate.low, candidate.high, self._holes(candidate)))
            for broken in sorted({depth for _, _, depth in cut}):
                kept = [(low, high) for low, high, depth in cut if depth == broken]
                yield candidate.broken + broken, _choice(candidate, kept)


def _choice(candidate: RunCandidate, kept: list[Interval]) -> Choice:
    lows, highs = zip(*kept, strict=True)
    return Choice(candidate, np.array(lows, np.int64), np.array([candidate.low, *highs], np.int64))


class Supply:
    """Which candidates the sticks left suffice for; ``sparing`` are runs to be laid from sticks without limit."""

    def __init__(self, partial: PartialPlan) -> None:
        self._partial = partial
        kinds = range(len(partial.model.problem.sticks))
        self._limits = {k: limit for k in kinds if (limit := partial.limit(k)) is not None}
        self.limited = bool(self._limits)
        self.sparing: set[int] = set()

    def enough(self, choice: Choice) -> bool:
        """Whether the sticks can be had: the whole ones, and some for cut pieces of lengths that are allowed."""
        if not self.limited:
            return True
        candidate, sticks = choice.candidate, self._partial.model.problem.sticks
        template, left = candidate.template, self._left_beside(candidate)
        if any(n < 0 for n in left.values()):
            return False
        if not template.first:
            return not template.last or any(
                left.get(k, 1) > 0 and sticks[k].length >= template.rest for k in template.last
            )
        kinds = np.array(sorted(template.first))
        lengths, none = choice.longest_up_to(np.array([sticks[k].length for k in kinds]))
        return bool(((template.rest - lengths <= self.longest_last(candidate)[kinds]) & ~none).any())

    def longest_last(self, candidate: RunCandidate) -> Ints:
        """Return by kind: with the first piece out of one such stick, the longest last piece the sticks left can give.

        In ticks, shape (kinds of sticks,); -1 where the run's whole sticks leave none of that kind for the first piece.
        """
        sticks, template = self._partial.model.problem.sticks, candidate.template
        left = self._left_beside(candidate)
        longest = np.zeros(len(sticks), np.int64)
        for kind in template.first:
            own = [sticks[k].length for k in template.last if left.get(k, 2) > (k == kind)]
            longest[kind] = max(own, default=0) if left.get(kind, 1) > 0 else -1
        return longest

    def _left_beside(self, candidate: RunCandidate) -> dict[int, int]:
        """Return how many sticks of each limited kind are left beside the candidate's whole sticks."""
        used, wholes = self._partial.used, candidate.template.wholes
        if candidate.run in self.sparing:
            return {k: -wholes.count(k) for k in self._limits}
        return {k: limit - used[k] - wholes.count(k) for k, limit in self._limits.items()}


class Turns:
    """Whose turn it is: of every wall the runs of its lowest course that are not laid; of runs alike and alone, one.

    Each row is of a wall, course by course, or of runs alike and alone, and is gone through once. Of many rows the
    first are tried for each stick, so that all sticks together take no more than ``MOST_TRIED`` tries.
    """

    def __init__(self, partial: PartialPlan) -> None:
        self._partial, model = partial, partial.model
        rows: dict[tuple[bool, int], list[tuple[int, list[int]]]] = defaultdict(list)
        for place, wall in enumerate(model.walls):
            row = rows[(True, model.alike[wall[0]]) if len(wall) == 1 else (False, place)]
            row += [(place, [*runs]) for _, runs in groupby(wall, lambda i: model.problem.runs[i].course)]
        self._rows = [*rows.values()]
        places = ((n, at, runs) for n, row in enumerate(self._rows) for at, (_, runs) in enumerate(row))
        self._where = {run: (n, at) for n, at, runs in places for run in runs}
        self._most = max(FEWEST_TRIED, MOST_TRIED // max(1, len(self._where)))
        self.begin()

    def begin(self) -> None:
        """Look at all rows from their beginning."""
        self._at, self._begun = [0] * len(self._rows), [*range(len(self._rows))]

    def again(self, run: int) -> None:
        """Have a run laid that has been lifted."""
        row, at = self._where[run]
        self._at[row] = min(self._at[row], at)
        if row not in self._begun:
            insort(self._begun, row)

    def next_runs(self) -> list[int]:
        """Return them in the order of the walls."""
        found, over = list[tuple[int, list[int]]](), list[int]()
        for n in self._begun:
            row, waiting = self._rows[n], list[int]()
            while self._at[n] < len(row) and not (waiting := [*filter(self._waits, row[self._at[n]][1])]):
                self._at[n] += 1
            if waiting:
                found.append((row[self._at[n]][0], waiting))
                if len(found) == self._most:
                    break
            else:
                over.append(n)
        for n in over:
            self._begun.remove(n)
        return [run for _, waiting in sorted(found) for run in waiting]

    def _waits(self, run: int) -> bool:
        return self._partial.placed[run] is None and run not in self._partial.cut_off
