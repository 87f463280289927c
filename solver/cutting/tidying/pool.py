"""Pools of patterns as columns of an integer program: what each stick of them yields, costs and leaves.

Long loops ask the watch now and then, and give up together (``go_on``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import CuttingProblem, Pattern
from solver.watch import Watch

Uses = tuple[tuple[Pattern, int], ...]
"""How often each pattern is cut."""
GOALS = ("scrap", "kept", "patterns", "cuts")
"""What is made least, in this order."""
IntMatrix = NDArray[np.int64]


class OutOfTime(Exception):
    """The watch has stopped; what was found before stands."""


def go_on(watch: Watch) -> None:
    """Raise ``OutOfTime`` once ``watch`` has stopped."""
    if watch.stopped:
        raise OutOfTime


def yields_of(problem: CuttingProblem, patterns: Sequence[Pattern]) -> IntMatrix:
    """Return how many of each piece a stick of each pattern gives, a row for each pattern."""
    yields = np.zeros((len(patterns), len(problem.pieces)), np.int64)
    rows = np.repeat(np.arange(len(patterns)), [len(pattern.pieces) for pattern in patterns])
    np.add.at(yields, (rows, np.array([i for pattern in patterns for i in pattern.pieces], np.intp)), 1)
    return yields


def totals_of(problem: CuttingProblem, patterns: Sequence[Pattern], yields: IntMatrix) -> dict[str, IntMatrix]:
    """Return what a stick of each pattern adds to ``cost`` and ``scrap`` length, to offcuts ``kept`` and ``cuts``.

    Kerf is scrap; a left-over of no length is never kept; a stick that is used up needs one cut less
    than it has pieces.
    """
    sticks = np.array([problem.sticks[pattern.stick].length for pattern in patterns], np.int64)
    filled, pieces = yields @ np.array([piece.length for piece in problem.pieces], np.int64), yields.sum(axis=1)
    left = np.maximum(0, sticks - problem.taken(filled, pieces))
    keeps = (left > 0) & (left >= problem.keep_from)
    return {
        "cost": np.array([problem.cost(pattern) for pattern in patterns], np.int64),
        "scrap": sticks - filled - np.where(keeps, left, 0),
        "kept": keeps.astype(np.int64),
        "cuts": pieces - (left == 0),
    }


def likeness(problem: CuttingProblem, stick: int) -> object:
    """Return what tells a stick from others: offcuts on hand of the same length and ends are alike."""
    kind = problem.sticks[stick]
    return replace(kind, limit=None) if kind.cost == 0 and kind.limit is not None else stick


@dataclass(frozen=True, slots=True)
class Aim:
    """Make the total ``name`` least, with the totals in ``caps`` at most so much; ``patterns`` is a total too."""

    name: str
    caps: Mapping[str, int]

    @property
    def counts_patterns(self) -> bool:
        """Whether different patterns have to be counted."""
        return "patterns" in (self.name, *self.caps)


@dataclass(frozen=True)
class Pool:
    """Patterns as columns, and the demand they have to meet exactly within the limits of the sticks.

    Rows of ``yields`` are columns; its first entries count pieces, one per piece, the further ones
    count sticks, one per stick kind that is limited (``limits`` holds those limits in that order). ``totals`` are what
    one stick of each column adds to ``cost``, ``scrap``, ``kept`` and ``cuts``.
    """

    patterns: tuple[Pattern, ...]
    demand: tuple[int, ...]
    limits: tuple[int, ...]
    yields: IntMatrix
    totals: Mapping[str, IntMatrix]
    reach: IntMatrix | None = None
    """How many sticks of each column any plan that is sought can have at the most, where that is known."""

    @classmethod
    def of(cls, problem: CuttingProblem, patterns: Iterable[Pattern], watch: Watch) -> Pool:
        """Return the pool of these patterns, each once, in a fixed order; raises ``OutOfTime``."""
        go_on(watch)
        ordered = tuple(sorted(set(patterns), key=attrgetter("stick", "pieces")))
        limited = [k for k, stick in enumerate(problem.sticks) if stick.limit is not None]
        yields = yields_of(problem, ordered)
        sticks = np.array([pattern.stick for pattern in ordered], np.int64)[:, None] == np.array(limited, np.int64)
        return cls(
            ordered,
            tuple(piece.demand for piece in problem.pieces),
            tuple(stick.limit for stick in problem.sticks if stick.limit is not None),
            np.hstack([yields, sticks.astype(np.int64)]),
            totals_of(problem, ordered, yields),
        )

    def only(self, keep: NDArray[np.bool_]) -> Pool:
        """Return the pool of the columns marked in ``keep``."""
        places = np.flatnonzero(keep)
        return Pool(
            tuple(self.patterns[j] for j in places),
            self.demand,
            self.limits,
            self.yields[places],
            {name: total[places] for name, total in self.totals.items()},
            None if self.reach is None else self.reach[places],
        )

    @cached_property
    def most(self) -> IntMatrix:
        """At most so many sticks of each column can be in any plan."""
        wanted = np.array((*self.demand, *self.limits), dtype=np.int64)
        with np.errstate(divide="ignore"):
            each = np.where(self.yields > 0, wanted // np.maximum(self.yields, 1), np.iinfo(np.int64).max)
        most = np.asarray(each.min(axis=1, initial=np.iinfo(np.int64).max), np.int64)
        return most if self.reach is None else np.minimum(most, self.reach)

    def total(self, name: str, counts: IntMatrix) -> int:
        """Return a total of a plan: one of ``totals``, or the number of different ``patterns``."""
        return int(np.count_nonzero(counts)) if name == "patterns" else int(self.totals[name] @ counts)

    def step(self, name: str) -> int:
        """Return what a total is always a whole multiple of."""
        return 1 if name == "patterns" else int(np.gcd.reduce(self.totals[name])) or 1

    def counts(self, uses: Iterable[tuple[Pattern, int]]) -> IntMatrix:
        """Return ``uses`` as a vector over the columns; a pattern outside the pool is an error (``KeyError``)."""
        place = {pattern: j for j, pattern in enumerate(self.patterns)}
        counts = np.zeros(len(self.patterns), dtype=np.int64)
        for pattern, count in uses:
            counts[place[pattern]] += count
        return counts

    def uses(self, counts: IntMatrix) -> tuple[tuple[Pattern, int], ...]:
        """Return a vector over the columns as pattern uses."""
        return tuple((self.patterns[j], int(counts[j])) for j in np.flatnonzero(counts))
