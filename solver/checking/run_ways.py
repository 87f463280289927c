"""Every way to make up a run, written from the meaning of the request: which sticks, and where it may be cut.

With factory ends a run without lapped outer ends is a first piece with its stick's right factory end, uncut sticks, and
a last piece with a left one. Its outer piece is an uncut stick too where the outer end is lapped; where no row of uncut
sticks is as long, one of them is cut, so both are counted here. Where ends don't matter a run is any pieces that add
up. Lap and end gap are the largest that its sticks ask for.

Where no rule is broken at all, no plan that breaks one is compared, and a run may be cut only where it keeps its own:
no piece too short, no lap in a stretch to be kept clear.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement, product
from math import gcd

import numpy as np

from solver.checking.bench import Bench
from solver.checking.knapsack import Ints, TooLargeToCheck
from solver.checking.runs import most_pieces
from solver.checking.wanted import Supply, Wanted, allowance, own_gap, own_lap
from solver.materials import StockLength
from solver.required import Meets

MOST_WAYS = 20_000
"""Ways to make up one run that are gone through; more are too many."""

MOST_ORDERS = 60
"""Orders of uncut sticks that are looked at; where there are more, a run may be cut anywhere."""


@dataclass(frozen=True, slots=True)
class Lapped:
    """Sticks that may be lapped and count alike at an end: the same lap, end gap and values; ``longest`` of them."""

    kinds: tuple[int, ...]
    lap: int
    end_gap: int
    longest: int


@dataclass(frozen=True, slots=True)
class Course:
    """One run as it is wanted, so many times alike; what is to be kept clear is measured from its left end."""

    wanted: Wanted
    keep_clear: tuple[tuple[int, int], ...]
    times: int

    def spans(self, parts: int, lap: int, end_gap: int) -> int:
        """Return what so many pieces add up to."""
        item = self.wanted.required
        ends = sum(allowance(end, lap, end_gap) for end in (item.left_end, item.right_end))
        return item.length + ends + lap * (parts - 1)


@dataclass(frozen=True, slots=True)
class Way:
    """Uncut sticks by kind, and the cut pieces at either end (None: there is none), which add up to ``rest``.

    ``holes`` are open stretches in which the first piece may not end, one set for each order of the uncut sticks.
    """

    wholes: tuple[int, ...]
    first: Lapped | None
    last: Lapped | None
    rest: int
    holes: tuple[tuple[tuple[int, int], ...], ...] = ((),)


@dataclass(frozen=True)
class Ways:
    """The runs of one material and how they can be made up; ``strict`` where plans that break a rule don't count."""

    bench: Bench
    supplies: Sequence[Supply]
    strict: bool

    @cached_property
    def _rows(self) -> list[StockLength | None]:
        return [*self.bench.material.stock, *(None for _ in self.bench.offcuts)]

    def lapped(self) -> list[int]:
        """Return the sticks of which runs can be made, by number."""
        every = zip(self._rows, self.supplies, strict=True)
        return [k for k, (row, s) in enumerate(every) if s.limit != 0 and own_lap(row, self.bench.material) is not None]

    def asks(self, k: int) -> tuple[int, int]:
        """Return the lap and the end gap that a stick asks for."""
        return own_lap(self._rows[k], self.bench.material) or 0, own_gap(self._rows[k], self.bench.material)

    def courses(self) -> list[Course]:
        """Return the runs, those alike together."""
        found: dict[tuple[int, tuple[tuple[int, int], ...]], int] = {}
        for wanted in (item for item in self.bench.wanted.values() if item.is_run):
            for course in wanted.courses:
                clear = (c for c in wanted.required.keep_clear if course is None or c.first <= course <= c.last)
                key = (
                    wanted.item,
                    tuple((c.start - wanted.required.start, c.end - wanted.required.start) for c in clear),
                )
                found[key] = found.get(key, 0) + wanted.required.quantity
        return [Course(self.bench.wanted[item], clear, times) for (item, clear), times in found.items()]

    def of(self, course: Course, groups: Sequence[Lapped]) -> Iterator[Way]:
        """Yield the ways of a run with factory ends, of more than one piece."""
        item, left = course.wanted.required, 0
        open_left, open_right = item.left_end.meets is not Meets.LAP, item.right_end.meets is not Meets.LAP
        cut_ends = {(open_left, open_right)}
        if not (open_left or open_right):
            cut_ends |= {(True, False), (False, True)}
        whole = [k for k in self.lapped() if self.supplies[k].ends.has_left and self.supplies[k].ends.has_right]
        for parts, (first, last) in product(
            range(2, most_pieces(self.bench, course.wanted.required) + 1), sorted(cut_ends)
        ):
            ends = product(self._ends(groups, first, right=True), self._ends(groups, last, right=False))
            bags = combinations_with_replacement(whole, parts - first - last)
            for bag, (one, other) in product(bags, list(ends)):
                left += 1
                if left > MOST_WAYS:
                    raise TooLargeToCheck("more ways to make up a run than there is time for")
                if (way := self._way(course, parts, bag, one, other)) is not None:
                    yield way

    def _ends(self, groups: Sequence[Lapped], wanted: bool, *, right: bool) -> list[Lapped | None]:
        if not wanted:
            return [None]
        ends = [(group, self.supplies[group.kinds[0]].ends) for group in groups]
        return [group for group, end in ends if (end.has_right if right else end.has_left)]

    def _way(
        self, course: Course, parts: int, bag: tuple[int, ...], one: Lapped | None, other: Lapped | None
    ) -> Way | None:
        asked = [*map(self.asks, bag), *((group.lap, group.end_gap) for group in (one, other) if group)]
        lap, gap = max(lap for lap, _ in asked), max(gap for _, gap in asked)
        rest = course.spans(parts, lap, gap) - sum(self.supplies[k].length for k in bag)
        if not bool(one) + bool(other) <= rest <= sum(group.longest for group in (one, other) if group):
            return None
        holes = tuple(self._holes(course, bag, (one, other), rest, lap, gap)) if self.strict else ((),)
        return Way(bag, one, other, rest, holes) if holes else None

    def _holes(
        self, course: Course, bag: tuple[int, ...], ends: tuple[Lapped | None, Lapped | None], rest: int, lap: int,
        gap: int,
    ) -> Iterator[tuple[tuple[int, int], ...]]:  # fmt: skip
        """Yield where the first piece may not end, for each order of the uncut sticks."""
        shortest = self.bench.material.settings.shortest_piece or 0
        if any(self.supplies[k].length < shortest for k in bag):
            return
        short = [(0, shortest)] * bool(ends[0]) + [(rest - shortest, rest)] * bool(ends[1])
        clear = [(start - max(lap, 0), end + max(-lap, 0)) for start, end in course.keep_clear]
        if not clear:
            yield tuple(short)
            return
        origin = -allowance(course.wanted.required.left_end, lap, gap)
        for number, order in enumerate(_orders(bag)):
            if number >= MOST_ORDERS:
                yield ()
                return
            yield (*short, *self._over(clear, order, ends, origin, lap))

    def _over(
        self, clear: Sequence[tuple[int, int]], order: Sequence[int], ends: tuple[Lapped | None, Lapped | None],
        origin: int, lap: int,
    ) -> Iterator[tuple[int, int]]:  # fmt: skip
        """Yield the lengths of the first piece at which a lap reaches into a stretch to be kept clear."""
        lengths = [*([0] if ends[0] else []), *(self.supplies[k].length for k in order), *([0] if ends[1] else [])]
        place = origin
        for length in lengths[:-1]:
            place += length - lap
            yield from ((start - place, end - place) for start, end in clear)

    def divisor(self, ways: Iterable[Way]) -> int:
        """Return what divides every length of which the places of cuts are made."""
        settings = self.bench.material.settings
        pieces = (item.in_stick for item in self.bench.wanted.values() if not item.is_run)
        found = list(ways)
        edges = (edge for way in found for holes in way.holes for hole in holes for edge in hole)
        sticks = (supply.length for supply in self.supplies if supply.limit != 0)
        return gcd(settings.kerf, *sticks, *pieces, *(way.rest for way in found), *edges)


def _orders(bag: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Yield the different orders of a bag."""
    if not bag:
        yield ()
    for k in sorted(set(bag)):
        rest = list(bag)
        rest.remove(k)
        yield from ((k, *order) for order in _orders(rest))


def cells_of(way: Way, grid: int, kerf: int, *, exact: bool) -> tuple[Ints, Ints]:
    """Return the cells of the first piece and the fewest of the last one beside it, wherever the run may be cut."""
    low = max(0, way.rest - (way.last.longest if way.last else 0))
    high = min(way.first.longest if way.first else 0, way.rest)
    found = [_places(low, high, holes, grid, kerf, exact=exact) for holes in way.holes]
    lengths = np.unique(np.concatenate(found)) if found else np.zeros(0, np.int64)
    rest = way.rest - lengths
    return (
        np.where(lengths > 0, (lengths + kerf) // grid, 0),
        np.where(rest > 0, (rest + kerf) // grid, 0),
    )


def _places(low: int, high: int, holes: Iterable[tuple[int, int]], grid: int, kerf: int, *, exact: bool) -> Ints:
    """Return lengths of the first piece between two, outside of the holes: on the grid, or the longest of each cell."""
    if exact:
        places = np.arange(low // grid * grid, -(-high // grid) * grid + 1, grid, dtype=np.int64)
        for start, end in holes:
            places = places[(places <= start) | (places >= end)]
        return places
    found = [np.zeros(0, np.int64)]
    for start, end in _left(low, high, holes):
        cells = np.arange((start + kerf) // grid, (end + kerf) // grid + 1, dtype=np.int64)
        found.append(np.minimum(end, (cells + 1) * grid - 1 - kerf))
    return np.concatenate(found)


def _left(low: int, high: int, holes: Iterable[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Yield what is left of ``low`` to ``high`` outside of open stretches, in whole ticks."""
    for start, end in sorted(holes):
        if low <= high and end > low and end - start > 1:
            if start >= low:
                yield low, min(start, high)
            low = max(low, end)
    if low <= high:
        yield low, high
