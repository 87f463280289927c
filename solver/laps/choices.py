"""What a run may be laid in next: by the rules beside its neighbours, and by the sticks that are left."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.laps.model import Ints, RunCandidate, holes_beside
from solver.laps.state import PartialPlan
from solver.laps.templates import Interval, levels, without


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
