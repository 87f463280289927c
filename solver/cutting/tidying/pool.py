"""How tidy a cutting is, and pools of patterns as columns of an integer program.

``Tidiness``, in the order of ``tidy``, is the yardstick of everything after the cost. A pool says what each stick of
its patterns yields, costs and leaves. Long loops ask the watch now and then, and give up together (``go_on``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import CuttingProblem, Pattern
from solver.watch import Watch

Uses = tuple[tuple[Pattern, int], ...]
"""How often each pattern is cut."""
GOALS = ("scrap", "kept", "patterns", "cuts")
"""What is made least, in this order."""
IntMatrix = NDArray[np.int64]
LOOK = 200
"""Columns made between two looks at the watch."""


class OutOfTime(Exception):
    """The watch has stopped; what was found before stands."""


def go_on(watch: Watch) -> None:
    """Raise ``OutOfTime`` once ``watch`` has stopped."""
    if watch.stopped:
        raise OutOfTime


@dataclass(frozen=True, slots=True, order=True)
class Tidiness:
    """Compared field by field, less is better: ``scrap`` is a length, the others are counts."""

    scrap: int
    kept: int
    patterns: int
    cuts: int


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern with what one stick of it costs and leaves: ``scrap`` length, ``kept`` is 0 or 1."""

    pattern: Pattern
    cost: int
    scrap: int
    kept: int
    cuts: int


def column(problem: CuttingProblem, pattern: Pattern) -> Column:
    """Measure one pattern.

    Kerf is scrap; a left-over of no length is never kept; a stick that is used up needs one cut less
    than it has pieces.
    """
    stick = problem.sticks[pattern.stick]
    filled = sum(problem.pieces[i].length for i in pattern.pieces)
    left = max(0, stick.length - problem.taken(filled, len(pattern.pieces)))
    keeps = left > 0 and left >= problem.keep_from
    return Column(
        pattern,
        problem.cost(pattern),
        scrap=stick.length - filled - (left if keeps else 0),
        kept=int(keeps),
        cuts=len(pattern.pieces) - (left == 0),
    )


def tidiness(problem: CuttingProblem, uses: Iterable[tuple[Pattern, int]]) -> Tidiness:
    """Measure a whole cutting; offcuts on hand that are alike and cut alike are one pattern."""
    measured = [(column(problem, pattern), count) for pattern, count in uses]
    different = {(likeness(problem, c.pattern.stick), c.pattern.pieces) for c, _ in measured}
    return Tidiness(
        scrap=sum(c.scrap * count for c, count in measured),
        kept=sum(c.kept * count for c, count in measured),
        patterns=len(different),
        cuts=sum(c.cuts * count for c, count in measured),
    )


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
    """Columns, and the demand they have to meet exactly within the limits of the sticks.

    Rows of ``yields`` are columns; its first entries count pieces, one per piece, the further ones
    count sticks, one per stick kind that is limited (``limits`` holds those limits in that order).
    """

    columns: tuple[Column, ...]
    demand: tuple[int, ...]
    limits: tuple[int, ...]
    yields: IntMatrix

    @classmethod
    def of(cls, problem: CuttingProblem, patterns: Iterable[Pattern], watch: Watch) -> Pool:
        """Return the pool of these patterns, each once, in a fixed order; raises ``OutOfTime``."""
        demand = tuple(piece.demand for piece in problem.pieces)
        columns: list[Column] = []
        limited = {k: place for place, k in enumerate(k for k, s in enumerate(problem.sticks) if s.limit is not None)}
        ordered = sorted(set(patterns))
        yields = np.zeros((len(ordered), len(demand) + len(limited)), dtype=np.int64)
        for row, pattern in zip(yields, ordered, strict=True):
            if len(columns) % LOOK == 0:
                go_on(watch)
            columns.append(column(problem, pattern))
            for piece in pattern.pieces:
                row[piece] += 1
            if pattern.stick in limited:
                row[len(demand) + limited[pattern.stick]] = 1
        limits = tuple(s.limit for s in problem.sticks if s.limit is not None)
        return cls(tuple(columns), demand, limits, yields)

    def only(self, keep: NDArray[np.bool_]) -> Pool:
        """Return the pool of the columns marked in ``keep``."""
        places = np.flatnonzero(keep)
        return Pool(tuple(self.columns[j] for j in places), self.demand, self.limits, self.yields[places])

    @cached_property
    def most(self) -> IntMatrix:
        """At most so many sticks of each column can be in any plan."""
        wanted = np.array((*self.demand, *self.limits), dtype=np.int64)
        with np.errstate(divide="ignore"):
            each = np.where(self.yields > 0, wanted // np.maximum(self.yields, 1), np.iinfo(np.int64).max)
        return np.asarray(each.min(axis=1, initial=np.iinfo(np.int64).max), np.int64)

    @cached_property
    def totals(self) -> Mapping[str, IntMatrix]:
        """What one stick of each column adds to ``cost``, ``scrap``, ``kept`` and ``cuts``."""
        names = ("cost", "scrap", "kept", "cuts")
        return {name: np.array([getattr(c, name) for c in self.columns], np.int64) for name in names}

    def total(self, name: str, counts: IntMatrix) -> int:
        """Return a total of a plan: one of ``totals``, or the number of different ``patterns``."""
        return int(np.count_nonzero(counts)) if name == "patterns" else int(self.totals[name] @ counts)

    def step(self, name: str) -> int:
        """Return what a total is always a whole multiple of."""
        return 1 if name == "patterns" else int(np.gcd.reduce(self.totals[name])) or 1

    def counts(self, uses: Iterable[tuple[Pattern, int]]) -> IntMatrix:
        """Return ``uses`` as a vector over the columns; a pattern outside the pool is an error (``KeyError``)."""
        place = {c.pattern: j for j, c in enumerate(self.columns)}
        counts = np.zeros(len(self.columns), dtype=np.int64)
        for pattern, count in uses:
            counts[place[pattern]] += count
        return counts

    def uses(self, counts: IntMatrix) -> tuple[tuple[Pattern, int], ...]:
        """Return a vector over the columns as pattern uses."""
        return tuple((self.columns[j].pattern, int(counts[j])) for j in np.flatnonzero(counts))
