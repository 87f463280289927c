"""The rules between courses: where a lap may lie beside laps already placed, and how many rules two courses break."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.laps.intervals import Interval
from solver.laps.problem import LapRules
from solver.laps.site import Layout, Site

Laps = list[tuple[int, ...] | None]
"""Where the laps of every run lie, None while it has no place."""


def distances(rules: LapRules, courses: int) -> tuple[int, ...]:
    """Return the distances that laps so many courses apart must keep, one for each rule."""
    spacing = (rules.spacing,) if courses == 1 and rules.spacing > 0 else ()
    in_line = (rules.in_line_within,) if courses <= rules.repeat and rules.in_line_within > 0 else ()
    return spacing + in_line


def holes_beside(site: Site, layout: Layout, laps: Laps) -> Iterator[Interval]:
    """Yield the open stretches of the first piece's length in each of which one rule between courses is broken."""
    for other, courses in site.near[layout.run]:
        for needed in distances(site.problem.rules, courses):
            for place in laps[other] or ():
                for offset in layout.offsets:
                    yield place - needed - offset, place + needed - offset


def broken_between(rules: LapRules, one: Sequence[int], other: Sequence[int], courses: int) -> int:
    """Return how many rules the laps of two runs break together."""
    gaps = [abs(x - y) for x in one for y in other]
    return sum(gap < needed for needed in distances(rules, courses) for gap in gaps)


def broken_beside(site: Site, run: int, own: Sequence[int], laps: Laps) -> int:
    """Return how many rules between courses a run with these laps breaks with its neighbours."""
    return sum(
        broken_between(site.problem.rules, own, other, courses)
        for j, courses in site.near[run]
        if (other := laps[j]) is not None
    )
