"""What the pieces of a run add up to where ends don't matter: every piece may be cut, those between two laps too.

Shapes list rows of whole sticks between two cut pieces, which plans are made of. A bound must hold for rows of any
pieces, so it goes by these sums, which leave out no number of pieces that the rules allow.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from solver.allowances import Allowances
from solver.laps.problem import LapProblem, LapRun, LapStick
from solver.laps.shapes import fewest_parts, own, span

MOST_PARTS = 128
"""Of runs that may be made of more pieces than this nothing is proven."""


@dataclass(frozen=True, slots=True)
class FreeSum:
    """So many ``parts``, none longer than ``longest``, cover the run if they are ``length`` together (ticks).

    ``asked`` is the lap and end gap of the sticks they come from.
    """

    parts: int
    length: int
    longest: int
    asked: Allowances


@dataclass(frozen=True, slots=True)
class FreeSums:
    """The sums of one run; ``complete`` is False where there are more that were not listed."""

    sums: tuple[FreeSum, ...]
    complete: bool


def free_sums(problem: LapProblem, run: LapRun) -> FreeSums:
    """Return what the pieces of a run can add up to, fewest pieces first."""
    found: dict[tuple[int, Allowances], FreeSum] = {}
    complete = True
    for sticks, allowances in _stocks(problem):
        most = fewest_parts(run, sticks[-1].length, allowances) + problem.rules.extra_laps
        if most > MOST_PARTS and _enough(sticks, span(run, MOST_PARTS + 1, allowances), allowances):
            complete = False
        for parts in range(1, min(most, MOST_PARTS) + 1):
            length = span(run, parts, allowances)
            if parts <= length <= parts * sticks[-1].length and _can_be_had(sticks, parts, length, allowances):
                # Sticks come shortest first, so that the longest that allow so many pieces stay.
                found[parts, allowances] = FreeSum(parts, length, sticks[-1].length, allowances)
    sums = sorted(found.values(), key=lambda each: (each.parts, each.length, each.asked.lap))
    return FreeSums(tuple(sums), complete)


def _stocks(problem: LapProblem) -> Iterator[tuple[list[LapStick], Allowances]]:
    """Yield the sticks up to each length that ask for no more than a lap and a gap, shortest first; some ask for each.

    What a run is made of decides its allowances, and the longest of its sticks how many pieces it may have.
    """
    sticks = sorted(
        (stick for stick in problem.sticks if stick.limit != 0 and stick.lapped), key=lambda stick: stick.length
    )
    for lap, end_gap in product({s.lap for s in sticks}, {s.end_gap for s in sticks}):
        for longest in sorted({s.length for s in sticks}):
            some = [s for s in sticks if s.length <= longest and s.lap <= lap and s.end_gap <= end_gap]
            attained = (max(s.lap for s in some), max(s.end_gap for s in some)) if some else None
            if attained == (lap, end_gap) and some[-1].length == longest:
                yield some, Allowances(lap, end_gap)


def _can_be_had(sticks: Sequence[LapStick], parts: int, length: int, allowances: Allowances) -> bool:
    """Whether there are sticks enough, and for one piece alone a stick that asks for just these allowances."""
    return _enough(sticks, length, allowances) and (parts > 1 or any(own(s) == allowances for s in sticks))


def _enough(sticks: Sequence[LapStick], length: int, allowances: Allowances) -> bool:
    """Whether sticks of this length together can be had; with gaps for laps that is not looked at."""
    limits = [stick.limit for stick in sticks]
    if allowances.lap < 0 or any(limit is None for limit in limits):
        return True
    return sum(stick.length * (limit or 0) for stick, limit in zip(sticks, limits, strict=True)) >= length
