"""Runs made of cut pieces alone, where ends don't matter: what sticks have left over, however short, lapped into one.

Shapes put whole sticks between two cut pieces. Where many sticks have a little left beside their plain pieces and the
rules allow the laps, a run can be had of that for nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice, permutations

from solver.allowances import Allowances
from solver.laps.neighbours import broken_beside
from solver.laps.shapes import Shape, fewest_parts, own, span
from solver.laps.site import Layout, Site, layout_of
from solver.laps.yard import Yard, pieces_of

MOST_ORDERS = 720
"""Orders of a run's pieces that are tried: all of six."""


def laid_in(yard: Yard, run: int, asked: Allowances, lengths: Sequence[int]) -> tuple[Layout, int, Sequence[int]]:
    """Return a run in pieces of these lengths, all cut from sticks that ask for one lap and gap.

    They lie in the order that breaks the fewest rules. Comes with the length of its first piece, and the places of the
    lengths from left to right.
    """
    best: tuple[int, Layout, int, Sequence[int]] | None = None
    for order in islice(permutations(range(len(lengths))), MOST_ORDERS):
        layout = layout_in(yard.site, run, asked, [lengths[place] for place in order])
        if layout is None:
            continue
        a = lengths[order[0]]
        broken = layout.breaks(a) + broken_beside(yard.site, run, layout.laps(a), yard.laps)
        if best is None or broken < best[0]:
            best = broken, layout, a, order
        if not broken:
            break
    if best is None:
        raise ValueError(f"{lengths} are no pieces of run {run}")
    return best[1:]


def layout_in(site: Site, run: int, asked: Allowances, lengths: Sequence[int]) -> Layout | None:
    """Return the layout of a run in pieces of these lengths from left to right, all cut; None if no stick gives it."""
    shape = _shape(site, run, asked, lengths)
    return layout_of(site.problem, run, shape) if shape.first else None


def _shape(site: Site, run: int, asked: Allowances, lengths: Sequence[int]) -> Shape:
    these = site.problem.runs[run]
    kinds = frozenset(k for k, most in _most_parts(site, run, asked).items() if len(lengths) <= most)
    origin = asked.starts_at(these.start, these.left)
    if len(lengths) == 1:
        return Shape(kinds, (), frozenset(), lengths[0], origin, asked)
    return Shape(kinds, (), kinds, lengths[0] + lengths[-1], origin, asked, cut=tuple(lengths[1:-1]))


def _most_parts(site: Site, run: int, asked: Allowances) -> dict[int, int]:
    """Return for each kind of stick that asks for this lap and gap how many pieces it allows a run to have."""
    problem = site.problem
    return {
        kind: fewest_parts(problem.runs[run], stick.length, asked) + problem.rules.extra_laps
        for kind, stick in enumerate(problem.sticks)
        if stick.limit != 0 and stick.lapped and own(stick) == asked
    }


def cover_from_left_overs(yard: Yard) -> None:
    """Lay every run that the sticks cut so far have enough left for, the longest first."""
    runs = yard.site.problem.runs
    asked = dict.fromkeys(own(stick) for stick in yard.site.problem.sticks)
    for run in sorted(range(len(runs)), key=lambda n: -runs[n].length):
        ways = (cut for one in asked if (cut := _from_left_overs(yard, run, one)) is not None)
        if (cut := next(ways, None)) is not None:
            one, numbers, lengths = cut
            layout, a, order = laid_in(yard, run, one, lengths)
            yard.place(layout, a)
            for place, piece in zip(order, pieces_of(layout, a), strict=True):
                yard.cut_more(numbers[place], piece)


def _from_left_overs(yard: Yard, run: int, asked: Allowances) -> tuple[Allowances, list[int], list[int]] | None:
    """Return which sticks give how much of a run, in as few pieces as can be; None where they can't."""
    problem, most = yard.site.problem, _most_parts(yard.site, run, asked)
    least = max(1, problem.rules.shortest)
    left = sorted(
        (problem.kerf - stick.room, number)
        for number, stick in enumerate(yard.sticks)
        if stick.kind in most and stick.room - problem.kerf >= least
    )
    together, allowed = 0, max(most.values(), default=0)
    for parts, (room, number) in enumerate(left, 1):
        together, allowed = together - room, min(allowed, most[yard.sticks[number].kind])
        beyond = together - span(problem.runs[run], parts, asked)
        if parts > allowed:
            return None
        if beyond >= 0:
            lengths = [-room for room, _ in left[:parts]]
            for place in reversed(range(parts)):
                spared = min(beyond, lengths[place] - least)
                lengths[place], beyond = lengths[place] - spared, beyond - spared
            return None if beyond else (asked, [number for _, number in left[:parts]], lengths)
    return None
