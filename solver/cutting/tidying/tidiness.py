"""How tidy a cutting is, in the order of ``tidy``: the yardstick of everything after the cost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from solver.cutting.problem import CuttingProblem, Pattern

Uses = tuple[tuple[Pattern, int], ...]
"""How often each pattern is cut."""

GOALS = ("scrap", "kept", "patterns", "cuts")
"""What is made least, in this order."""


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
    left = max(0, stick.length - filled - problem.kerf * len(pattern.pieces))
    keeps = left > 0 and left >= problem.keep_from
    return Column(
        pattern,
        stick.cost,
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
