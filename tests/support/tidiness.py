"""How tidy a cutting is, measured stick by stick from the meaning of the words: nothing of ``tidying`` is asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from solver.cutting.problem import CuttingProblem, Pattern, Stick


@dataclass(frozen=True, slots=True, order=True)
class Tidiness:
    """Compared field by field, less is better: ``scrap`` is a length, the others are counts."""

    scrap: int
    kept: int
    patterns: int
    cuts: int


def tidiness(problem: CuttingProblem, uses: Iterable[tuple[Pattern, int]]) -> Tidiness:
    """Measure a whole cutting; offcuts on hand that are alike and cut alike are one pattern.

    Kerf is scrap; a left-over of no length is never kept; a stick that is used up needs one cut less than it has
    pieces.
    """
    scrap = kept = cuts = 0
    different = set()
    for pattern, count in uses:
        stick = problem.sticks[pattern.stick]
        lengths = [problem.pieces[place].length for place in pattern.pieces]
        left = max(0, stick.length - sum(lengths) - problem.kerf * len(lengths))
        keeps = left > 0 and left >= problem.keep_from
        scrap += count * (stick.length - sum(lengths) - (left if keeps else 0))
        kept += count * keeps
        cuts += count * (len(lengths) - (left == 0))
        different.add((_alike(stick, pattern.stick), pattern.pieces))
    return Tidiness(scrap, kept, len(different), cuts)


def _alike(stick: Stick, place: int) -> object:
    """Return the same for offcuts on hand of one length and ends, and something of its own for every other stick."""
    return (stick.length, stick.left, stick.right) if stick.cost == 0 and stick.limit is not None else place
