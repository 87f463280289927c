"""A pool of patterns as columns of an integer program: what each stick of them yields, costs and leaves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solver.cutting.problem import CuttingProblem, Pattern
from solver.cutting.tidying.patience import go_on
from solver.cutting.tidying.tidiness import Column, column
from solver.watch import Watch

IntMatrix = NDArray[np.int64]

LOOK = 200
"""Columns made between two looks at the watch."""


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
