"""How many splits with laps near one place whole numbers may take, so that laps can be dealt to the courses staggered.

A help, not a rule: stretches begin at multiples of a small part of a rule's distance, and of runs unlike each other
only those count that have none of their kind, and of their laps only the outer ones.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from enum import Enum

from solver.laps.columns import NONE, Cut, Split
from solver.laps.dealing import layouts_of
from solver.laps.neighbours import distances
from solver.laps.site import Site

PARTS = 48
"""Stretches begin at multiples of a rule's distance over this."""


class Stagger(Enum):
    """Between which runs crowding is looked at: fewer where rules can't be kept everywhere."""

    ALIKE = "runs alike"
    ALL = "runs alike, and those unlike each other"
    NONE = "none"


Crowd = tuple[list[int], int]
"""Numbers of columns, and how many of them may be taken together."""
Places = list[tuple[int, int]]
"""A lap's place in ticks and the number of its column."""


def staggered(site: Site, columns: Sequence[Cut | Split], stagger: Stagger) -> Iterator[Crowd]:
    """Yield which of the columns crowd each other, and how many of them may be taken."""
    if stagger is Stagger.NONE:
        return
    splits: dict[int, list[tuple[Split, int]]] = defaultdict(list)
    for number, column in enumerate(columns):
        if isinstance(column, Split) and column.alike < len(site.alike):
            splits[column.alike].append((column, number))
    for alike, found in splits.items():
        places = [(split.first_cells * site.cell, n) for split, n in found if NONE not in (split.first, split.last)]
        for apart, most in crowding(site, alike):
            yield from _crowds(places, apart, most)
    if stagger is Stagger.ALL:
        yield from _unlike(site, splits)


def _unlike(site: Site, splits: dict[int, list[tuple[Split, int]]]) -> Iterator[Crowd]:
    """Yield crowds of two neighbours unlike each other and all others."""
    count = Counter(site.alike)
    alone = {run: _outer(site, run, splits[alike]) for run, alike in enumerate(site.alike) if count[alike] == 1}
    for run, places in alone.items():
        for other, courses in site.near[run]:
            if other > run and other in alone:
                for apart in distances(site.problem.rules, courses)[:1]:
                    yield from _crowds([*places, *alone[other]], apart, 1)


def _outer(site: Site, run: int, splits: Iterable[tuple[Split, int]]) -> Places:
    """Return where the splits of a run have their first and last lap."""
    places: Places = []
    for split, number in splits:
        laid = next(layouts_of(site, run, split), None)
        if laid is not None:
            laps = laid[0].laps(laid[1])
            places += [(place, number) for place in {*laps[:1], *laps[-1:]}]
    return places


def _crowds(places: Places, apart: int, most: int) -> Iterator[Crowd]:
    """Yield the columns with a lap in each stretch of the length ``apart``, where there are too many."""
    step, parts = max(1, apart // PARTS), min(PARTS, apart)
    held: dict[int, dict[int, None]] = defaultdict(dict)
    for place, number in places:
        for start in range(place // step - parts + 1, place // step + 1):
            held[start][number] = None
    before: dict[int, None] = {}
    for start in sorted(held):
        if len(held[start]) > most and not held[start].keys() <= before.keys():
            yield list(held[start]), most
        before = held[start]


def crowding(site: Site, alike: int) -> Iterator[tuple[int, int]]:
    """Yield (stretch in ticks, runs): no more runs of a class may be lapped within one stretch, if rules are kept."""
    rules = site.problem.rules
    courses: dict[object, list[int]] = defaultdict(list)
    for run, number in zip(site.problem.runs, site.alike, strict=True):
        if number == alike and run.wall is not None and run.course is not None:
            courses[run.wall].append(run.course)
    if courses and rules.spacing:
        yield rules.spacing, sum(_most_apart(found, 1) for found in courses.values())
    if courses and rules.in_line_within and rules.repeat:
        yield rules.in_line_within, sum(_most_apart(found, rules.repeat) for found in courses.values())


def _most_apart(courses: Iterable[int], reach: int) -> int:
    """Return how many of the courses can be chosen with more than ``reach`` from one to the next."""
    chosen, last = 0, None
    for course in sorted(courses):
        if last is None or course - last > reach:
            chosen, last = chosen + 1, course
    return chosen
