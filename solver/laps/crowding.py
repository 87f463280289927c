"""Where laps crowd: how many splits with a lap in one stretch may be taken, if rules between courses are kept.

Of the runs of a wall that are lapped within a rule's distance no two may lie so few courses apart as the rule reaches.
How many runs that leaves at the most is counted wall by wall, and splits are chosen for whole classes of runs: so what
follows is necessary for laps to be staggered, and not enough. For each class alone stretches begin at multiples of a
small part of the distance, from the lowest place on. Of runs unlike each other so many stretches might count that only
two things are looked at: neighbours that have none of their kind, of their laps the outer ones; and what some solution
has too many of, which is kept for those that follow (cutting planes, as they are met).
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import Enum
from itertools import groupby, islice

from solver.laps.assign import candidates_of
from solver.laps.bounds.columns import NONE, RunColumn, StickColumn
from solver.laps.model import LapModel, distances
from solver.laps.problem import LapRules

PARTS = 48
"""Stretches begin at multiples of a rule's distance over this."""

LONGEST = 5
"""So many classes, each next to the one before on a wall, are looked at together at the most."""

TOO_MANY = 0.3
"""By so much a solution in fractions must have too many in a stretch."""

Column = StickColumn | RunColumn
Crowd = tuple[list[int], int]
"""Numbers of columns, and how many of them may be taken together."""
Places = list[tuple[int, int]]
"""A lap's place in ticks and the number of its column."""


class Stagger(Enum):
    """Between which runs crowding is looked at: fewer where rules can't be kept everywhere, so all are tried."""

    ALL = "runs alike, and those unlike each other"
    ALIKE = "runs alike"
    NONE = "none"


def staggered(model: LapModel, columns: Sequence[StickColumn | RunColumn], stagger: Stagger) -> Iterator[Crowd]:
    """Yield which of the columns crowd each other, and how many of them may be taken."""
    if stagger is Stagger.NONE:
        return
    splits: dict[int, list[tuple[RunColumn, int]]] = defaultdict(list)
    for number, column in enumerate(columns):
        if isinstance(column, RunColumn) and column.alike < len(model.alike):
            splits[column.alike].append((column, number))
    count = Counter(model.alike)
    for alike, found in splits.items():
        places = [(split.first_cells * model.cell, n) for split, n in found if NONE not in (split.first, split.last)]
        for apart, most in crowding(model, alike):
            # Even one column alone crowds itself: it may be taken for several runs.
            yield from _crowds(places, apart, most) if most < count[alike] else ()
    if stagger is Stagger.ALL:
        yield from _unlike(model, splits)


def _unlike(model: LapModel, splits: dict[int, list[tuple[RunColumn, int]]]) -> Iterator[Crowd]:
    """Yield crowds of two neighbours unlike each other and all others."""
    count = Counter(model.alike)
    alone = {run: _outer(model, run, splits[alike]) for run, alike in enumerate(model.alike) if count[alike] == 1}
    for run, places in alone.items():
        for other, courses in model.near[run]:
            if other > run and other in alone:
                for apart in distances(model.problem.rules, courses)[:1]:
                    crowds = _crowds([*places, *alone[other]], apart, 1)
                    yield from ((numbers, most) for numbers, most in crowds if len(numbers) > most)


def _outer(model: LapModel, run: int, splits: Iterable[tuple[RunColumn, int]]) -> Places:
    """Return where the splits of a run have their first and last lap."""
    places: Places = []
    for split, number in splits:
        laid = next(candidates_of(model, run, split), None)
        if laid is not None:
            laps = laid[0].laps(laid[1])
            places += [(place, number) for place in {*laps[:1], *laps[-1:]}]
    return places


def _crowds(places: Places, apart: int, most: int) -> Iterator[Crowd]:
    """Yield the columns with a lap in each stretch of the length ``apart``, but for those that others hold as well."""
    step, parts = max(1, apart // PARTS), min(PARTS, apart)
    held: dict[int, dict[int, None]] = defaultdict(dict)
    for place, number in places:
        for start in range(place // step - parts + 1, place // step + 1):
            held[start][number] = None
    crowds = [crowd for crowd, _ in groupby(held[start].keys() for start in sorted(held))]
    for before, crowd, after in zip([set(), *crowds], crowds, [*crowds[1:], set()], strict=False):
        if not (crowd <= before or crowd <= after):
            yield list(crowd), most


def crowding(model: LapModel, alike: int) -> Iterator[tuple[int, int]]:
    """Yield (stretch in ticks, runs): no more runs of a class may be lapped within one stretch, if rules are kept."""
    for apart, reach in _rules(model.problem.rules):
        if most := _most_apart(model, frozenset((alike,)), reach):
            yield apart, most


def _rules(rules: LapRules) -> Iterator[tuple[int, int]]:
    """Yield each rule's distance and how many courses it reaches."""
    if rules.spacing:
        yield rules.spacing, 1
    if rules.in_line_within and rules.repeat:
        yield rules.in_line_within, rules.repeat


def _most_apart(model: LapModel, classes: frozenset[int], reach: int) -> int:
    """Return how many runs of these classes there are in courses with more than ``reach`` from one to the next."""
    courses: dict[object, Counter[int]] = defaultdict(Counter)
    for run, number in zip(model.problem.runs, model.alike, strict=True):
        if number in classes and run.wall is not None and run.course is not None:
            courses[run.wall][run.course] += 1
    return sum(_chosen(found, reach) for found in courses.values())


def _chosen(runs: Mapping[int, int], reach: int) -> int:
    """Return the most runs, given by course, in courses that may be chosen together."""
    most: list[tuple[int, int]] = [(min(runs) - reach - 1, 0)]
    for course in sorted(runs):
        below = next(n for other, n in reversed(most) if course - other > reach)
        most.append((course, max(most[-1][1], below + runs[course])))
    return most[-1][1]


class Crowds:
    """Stretches in which solutions had too many laps of several classes, in one model.

    Only classes count whose runs all begin at one place, so that a split says where its laps lie along the wall.
    """

    def __init__(self, model: LapModel) -> None:
        self._model, self._rules = model, list(_rules(model.problem.rules))
        starts: dict[int, set[int]] = defaultdict(set)
        self._run: dict[int, int] = {}
        for number, alike in enumerate(model.alike):
            starts[alike].add(model.problem.runs[number].start)
            self._run.setdefault(alike, number)
        self._placed = {alike for alike, found in starts.items() if len(found) == 1}
        self._together = list(dict.fromkeys(group for wall in model.walls for group in self._groups(wall)))
        self._laps: dict[RunColumn, tuple[int, ...]] = {}
        self._counted: dict[tuple[frozenset[int], int], int] = {}
        self._kept: dict[tuple[frozenset[int], int, int], int] = {}

    def _groups(self, wall: Sequence[int]) -> Iterator[frozenset[int]]:
        """Yield classes that lie on top of each other."""
        upwards = [alike for alike, _ in groupby(self._model.alike[run] for run in wall)]
        for low in range(len(upwards)):
            for high in range(low + 1, min(len(upwards), low + LONGEST) + 1):
                if group := self._placed.intersection(upwards[low:high]):
                    yield frozenset(group)

    def rows(self, columns: Sequence[Column]) -> Iterator[Crowd]:
        """Yield what was kept, as rows over these columns."""
        splits: dict[int, Places] = defaultdict(list)
        for number, column in enumerate(columns):
            if isinstance(column, RunColumn) and column.alike in self._placed:
                splits[column.alike] += [(place, number) for place in self._places(column)]
        for (classes, start, apart), most in self._kept.items():
            found = (n for alike in sorted(classes) for place, n in splits[alike] if start <= place < start + apart)
            if numbers := list(dict.fromkeys(found)):
                yield numbers, most

    def look(self, amounts: Mapping[Column, float]) -> bool:
        """Keep every stretch that holds too many of these; return whether there is one that was not kept before."""
        kept = len(self._kept)
        splits = [(c, n) for c, n in amounts.items() if isinstance(c, RunColumn) and c.alike in self._placed]
        laps: dict[int, Places] = defaultdict(list)
        for number, (split, _) in enumerate(splits):
            laps[split.alike] += [(place, number) for place in self._places(split)]
        for group in self._together:
            found = sorted(lap for alike in group for lap in laps[alike])
            for apart, reach in self._rules:
                self._look(splits, found, apart, reach)
        return len(self._kept) > kept

    def _look(self, splits: Sequence[tuple[RunColumn, float]], laps: Places, apart: int, reach: int) -> None:
        for low, (start, _) in enumerate(laps):
            within = {n for _, n in islice(laps, low, bisect_left(laps, (start + apart, 0)))}
            classes = frozenset(splits[n][0].alike for n in within)
            if sum(splits[n][1] for n in within) > self._most(classes, reach) + TOO_MANY:
                self._kept[classes, start, apart] = self._most(classes, reach)

    def _most(self, classes: frozenset[int], reach: int) -> int:
        if (classes, reach) not in self._counted:
            self._counted[classes, reach] = _most_apart(self._model, classes, reach)
        return self._counted[classes, reach]

    def _places(self, split: RunColumn) -> tuple[int, ...]:
        """Return where a split has its laps along the wall."""
        if split not in self._laps:
            laid = next(candidates_of(self._model, self._run[split.alike], split), None)
            self._laps[split] = laid[0].laps(laid[1]) if laid else ()
        return self._laps[split]
