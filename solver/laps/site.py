"""A problem of runs made ready: every layout of every run, which runs are alike, and which lie near each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from math import gcd

from solver.laps.intervals import Interval, hit
from solver.laps.problem import LapProblem, LapRun
from solver.laps.shapes import Kinds, Shape, shapes_of
from solver.laps.sums import FreeSum, free_sums
from solver.materials import LapEnds

MOST_CELLS = 4096
"""The longest stick is no more cells of the grid than this; then cells are larger than the common divisor."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A shape of one run with what follows from the length ``a`` of its first cut piece (0 where there is none).

    ``low`` and ``high`` bound ``a``; lap ``j`` lies at ``offsets[j] + a``. ``holes`` are open stretches of ``a``
    in each of which one rule of this run alone is broken, ``broken`` counts rules broken whatever ``a`` is, and
    ``cost`` is what the whole sticks cost.
    """

    run: int
    shape: Shape
    low: int
    high: int
    offsets: tuple[int, ...]
    holes: tuple[Interval, ...]
    broken: int
    cost: int

    def last(self, a: int) -> int:
        """Return the length of the last cut piece, 0 where there is none."""
        return self.shape.rest - a

    def laps(self, a: int) -> tuple[int, ...]:
        """Return where the laps lie along the wall."""
        return tuple(offset + a for offset in self.offsets)

    def breaks(self, a: int) -> int:
        """Return how many rules of this run alone are broken."""
        return self.broken + hit(a, self.holes)


@dataclass(frozen=True, slots=True)
class Site:
    """The problem with its layouts by run.

    ``alike[i]`` numbers classes of runs with the same layouts but for where they lie; ``near[i]`` are runs whose
    laps bear on run ``i``'s with the number of courses between them; ``walls`` are runs by wall, lowest first, a
    run without neighbours alone. ``divisor`` divides every length; ``cell`` is the grid for prices. ``complete``
    is False where some run could be made up in a way that is not listed. ``sums[i]`` says what the pieces of run ``i``
    add up to where ends don't matter, and is empty where they do. ``sides`` are the distinct sets of sticks that
    pieces at a right end may come from, and pieces at a left end; ``plain`` are the problem's pieces that need no
    factory end, by index.
    """

    problem: LapProblem
    layouts: tuple[tuple[Layout, ...], ...]
    alike: tuple[int, ...]
    near: tuple[tuple[tuple[int, int], ...], ...]
    walls: tuple[tuple[int, ...], ...]
    divisor: int
    cell: int
    complete: bool
    sides: tuple[tuple[Kinds, ...], tuple[Kinds, ...]]
    plain: tuple[int, ...]
    sums: tuple[tuple[FreeSum, ...], ...]


def site_of(problem: LapProblem) -> Site:
    """Lay out every run of a problem in every way."""
    shapes = [shapes_of(problem, run) for run in problem.runs]
    layouts = tuple(
        tuple(layout for shape in found.shapes if (layout := layout_of(problem, i, shape)) is not None)
        for i, found in enumerate(shapes)
    )
    free = problem.rules.ends is not LapEnds.FACTORY
    sums = [free_sums(problem, run) for run in problem.runs] if free else []
    divisor = _divisor(problem, layouts, [each.length for found in sums for each in found.sums])
    longest = max(stick.length for stick in problem.sticks)
    cell = divisor * -(-(longest + problem.kerf) // (divisor * MOST_CELLS))
    return Site(
        problem,
        layouts,
        _alike(problem.runs),
        tuple(tuple(_near(problem, i)) for i in range(len(problem.runs))),
        _walls(problem.runs),
        divisor,
        cell,
        all(found.complete for found in (sums or shapes)),
        _sides(problem, [layout.shape for found in layouts for layout in found]),
        tuple(i for i, piece in enumerate(problem.pieces) if not (piece.left or piece.right)),
        tuple(found.sums for found in sums) or ((),) * len(problem.runs),
    )


def _sides(problem: LapProblem, shapes: Sequence[Shape]) -> tuple[tuple[Kinds, ...], tuple[Kinds, ...]]:
    firsts = dict.fromkeys(shape.first for shape in shapes if shape.first)
    lasts = dict.fromkeys(shape.last for shape in shapes if shape.last)
    if any(piece.right and not piece.left for piece in problem.pieces):
        firsts[with_end(problem, right=True)] = None
    if any(piece.left and not piece.right for piece in problem.pieces):
        lasts[with_end(problem, right=False)] = None
    return tuple(firsts), tuple(lasts)


def layout_of(problem: LapProblem, run: int, shape: Shape) -> Layout | None:
    """Return what follows from a shape of a run; None where its cut pieces can't add up."""
    most_first, most_last = (max((problem.sticks[k].length for k in s), default=0) for s in (shape.first, shape.last))
    low = max(bool(shape.first), shape.rest - most_last) if shape.last else shape.rest
    high = min(most_first, shape.rest - bool(shape.last))
    if low > high:
        return None
    sticks = [problem.sticks[k] for k in shape.wholes]
    offsets = _offsets(shape, [stick.length for stick in sticks])
    holes = (*_short(problem, shape), *_clear(problem.runs[run], shape, offsets))
    middle = [*shape.cut, *(stick.length for stick in sticks)]
    broken = shape.field_ends + sum(length < problem.rules.shortest for length in middle)
    return Layout(run, shape, low, high, offsets, holes, broken, sum(stick.cost for stick in sticks))


def _offsets(shape: Shape, wholes: Sequence[int]) -> tuple[int, ...]:
    """Return where the laps lie were the first cut piece of no length."""
    lengths = [*([0] if shape.first else []), *shape.cut, *wholes, *([0] if shape.last else [])]
    return tuple(accumulate((n - shape.allowances.lap for n in lengths[:-1]), initial=shape.origin))[1:]


def _short(problem: LapProblem, shape: Shape) -> Iterator[Interval]:
    if shape.first:
        yield 0, problem.rules.shortest
    if shape.last:
        yield shape.rest - problem.rules.shortest, shape.rest


def _clear(run: LapRun, shape: Shape, offsets: Sequence[int]) -> Iterator[Interval]:
    """Yield for every lap where it would reach into an open stretch; stretches that overlap count once."""
    kept = reaches(run.keep_clear, shape.allowances.lap)
    for offset in offsets:
        for start, end in kept:
            yield start - offset, end - offset


def reaches(keep_clear: Sequence[Interval], lap: int) -> list[Interval]:
    """Return between which places the left end of a lap would reach into an open stretch."""
    return _merged((start - max(lap, 0), end + max(-lap, 0)) for start, end in keep_clear)


def _merged(stretches: Iterator[Interval]) -> list[Interval]:
    merged: list[Interval] = []
    for start, end in sorted(stretches):
        if merged and start < merged[-1][1]:
            merged[-1] = merged[-1][0], max(end, merged[-1][1])
        else:
            merged.append((start, end))
    return merged


def _divisor(problem: LapProblem, layouts: Sequence[Sequence[Layout]], sums: Sequence[int]) -> int:
    """Return what divides every length that a corner of the choice of lengths is made of (see the package)."""
    lengths = (stick.length for stick in problem.sticks)
    found = [layout for several in layouts for layout in several]
    edges = (edge for layout in found for hole in layout.holes for edge in hole)
    return gcd(
        problem.kerf,
        *lengths,
        *(piece.length for piece in problem.pieces),
        *(layout.shape.rest for layout in found),
        *sums,
        *edges,
    )


def _alike(runs: Sequence[LapRun]) -> tuple[int, ...]:
    numbers: dict[object, int] = {}
    keys = ((r.length, r.left, r.right, tuple((s - r.start, e - r.start) for s, e in r.keep_clear)) for r in runs)
    return tuple(numbers.setdefault(key, len(numbers)) for key in keys)


def _near(problem: LapProblem, i: int) -> Iterator[tuple[int, int]]:
    run, rules = problem.runs[i], problem.rules
    reach = max(rules.repeat if rules.in_line_within else 0, 1 if rules.spacing else 0)
    if run.wall is None or run.course is None:
        return
    for j, other in enumerate(problem.runs):
        if other.wall == run.wall and other.course is not None and 0 < abs(other.course - run.course) <= reach:
            yield j, abs(other.course - run.course)


def _walls(runs: Sequence[LapRun]) -> tuple[tuple[int, ...], ...]:
    walls: dict[object, list[int]] = defaultdict(list)
    for i, run in enumerate(runs):
        walls[i if run.wall is None or run.course is None else run.wall].append(i)
    return tuple(tuple(sorted(w, key=lambda i: (runs[i].course or 0, runs[i].start, i))) for w in walls.values())


def with_end(problem: LapProblem, *, right: bool) -> Kinds:
    """Return the kinds of sticks that can be had and have a factory end on the right, or on the left."""
    return frozenset(
        k for k, stick in enumerate(problem.sticks) if stick.limit != 0 and (stick.right if right else stick.left)
    )
