"""A problem of runs made ready: every candidate of every run, which runs are alike, and which lie near each other.

Rules between courses are counted here too: where a lap may lie beside laps already placed, and how many are broken.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, product
from math import gcd

import numpy as np
from numpy.typing import NDArray

from solver.categories import LapEnds
from solver.cutting.problem import N
from solver.laps.problem import LapProblem, LapRules, LapRun
from solver.laps.templates import FreeSum, Interval, Kinds, RunTemplate, free_sums, hit, of_each, templates_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_CELLS = 4096
"""The longest stick is no more cells of the grid than this; then cells are larger than the common divisor."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCandidate:
    """A template of one run with what follows from the length ``a`` of its first cut piece (0 where there is none).

    ``low`` and ``high`` bound ``a``; lap ``j`` lies at ``offsets[j] + a``. ``holes`` are open stretches of ``a``
    in each of which one rule of this run alone is broken, ``broken`` counts rules broken whatever ``a`` is, and
    ``cost`` is what the whole sticks cost.
    """

    run: int
    template: RunTemplate
    low: int
    high: int
    offsets: tuple[int, ...]
    holes: tuple[Interval, ...]
    broken: int
    cost: int

    def last(self, a: int) -> int:
        """Return the length of the last cut piece, 0 where there is none."""
        return self.template.rest - a

    def laps(self, a: int) -> tuple[int, ...]:
        """Return where the laps lie along the wall."""
        return tuple(offset + a for offset in self.offsets)

    def breaks(self, a: int) -> int:
        """Return how many rules of this run alone are broken."""
        return self.broken + hit(a, self.holes)


@dataclass(frozen=True, slots=True, kw_only=True)
class LapModel:
    """The problem with its candidates by run.

    ``alike[i]`` numbers classes of runs with the same candidates but for where they lie; ``near[i]`` are runs whose
    laps bear on run ``i``'s with the number of courses between them; ``walls`` are runs by wall, lowest first, a
    run without neighbours alone. ``divisor`` divides every length; ``cell`` is the grid for prices. ``complete``
    is False where some run could be made up in a way that is not listed. ``sums[i]`` says what the pieces of run ``i``
    add up to where ends don't matter, and is empty where they do. ``sides`` are the distinct sets of sticks that
    pieces at a right end may come from, and pieces at a left end; ``plain`` are the problem's pieces that need no
    factory end, by index.
    """

    problem: LapProblem
    candidates: tuple[tuple[RunCandidate, ...], ...]
    alike: tuple[int, ...]
    near: tuple[tuple[tuple[int, int], ...], ...]
    walls: tuple[tuple[int, ...], ...]
    divisor: int
    cell: int
    complete: bool
    sides: tuple[tuple[Kinds, ...], tuple[Kinds, ...]]
    plain: tuple[int, ...]
    sums: tuple[tuple[FreeSum, ...], ...]

    def cells(self, length: N) -> N:
        """Return how many whole cells of the grid a piece takes with the cut after it; a stick holds as many."""
        return self.problem.taken(length) // self.cell

    def shortest(self, cells: int) -> int:
        """Return the least length that takes so many whole cells."""
        return self.problem.given(cells * self.cell)

    @property
    def width(self) -> int:
        """How many cells the longest stick holds."""
        return self.cells(max(stick.length for stick in self.problem.sticks))

    @property
    def sizes(self) -> list[int]:
        """How many whole cells each plain piece takes."""
        return [self.cells(self.problem.pieces[i].length) for i in self.plain]


def model_of(problem: LapProblem) -> LapModel:
    """Lay out every run of a problem in every way."""
    templates = of_each(problem, templates_of)
    candidates = tuple(
        tuple(
            candidate for template in found.templates if (candidate := candidate_of(problem, i, template)) is not None
        )
        for i, found in enumerate(templates)
    )
    free = problem.rules.ends is not LapEnds.FACTORY
    sums = of_each(problem, free_sums) if free else []
    divisor = _divisor(problem, candidates, [each.length for found in sums for each in found.sums])
    longest = max(stick.length for stick in problem.sticks)
    cell = divisor * -(-problem.taken(longest) // (divisor * MOST_CELLS))
    return LapModel(
        problem=problem,
        candidates=candidates,
        alike=_alike(problem.runs),
        near=_neighbours(problem),
        walls=_walls(problem.runs),
        divisor=divisor,
        cell=cell,
        complete=all(found.complete for found in (sums or templates)),
        sides=_sides(problem, [candidate.template for found in candidates for candidate in found]),
        plain=tuple(i for i, piece in enumerate(problem.pieces) if not (piece.left or piece.right)),
        sums=tuple(found.sums for found in sums) or ((),) * len(problem.runs),
    )


def fewest_laps(model: LapModel) -> list[int]:
    """Return for each run how many laps it has at the least; with cut pieces between, none of its candidates knows."""
    ways = ((len(y.offsets) for y in found) for found in model.candidates)
    parts = ((each.parts - 1 for each in found) for found in model.sums)
    return [min((*one, *other), default=0) for one, other in zip(ways, parts, strict=True)]


def _sides(problem: LapProblem, templates: Sequence[RunTemplate]) -> tuple[tuple[Kinds, ...], tuple[Kinds, ...]]:
    firsts = dict.fromkeys(template.first for template in templates if template.first)
    lasts = dict.fromkeys(template.last for template in templates if template.last)
    if any(piece.right and not piece.left for piece in problem.pieces):
        firsts[with_end(problem, right=True)] = None
    if any(piece.left and not piece.right for piece in problem.pieces):
        lasts[with_end(problem, right=False)] = None
    return tuple(firsts), tuple(lasts)


def candidate_of(problem: LapProblem, run: int, template: RunTemplate) -> RunCandidate | None:
    """Return what follows from a template of a run; None where its cut pieces can't add up."""
    most_first, most_last = (
        max((problem.sticks[k].length for k in s), default=0) for s in (template.first, template.last)
    )
    low = max(bool(template.first), template.rest - most_last) if template.last else template.rest
    high = min(most_first, template.rest - bool(template.last))
    if low > high:
        return None
    sticks = [problem.sticks[k] for k in template.wholes]
    offsets = _offsets(template, [stick.length for stick in sticks])
    holes = (*_short(problem, template), *_clear(problem.runs[run], template, offsets))
    middle = [*template.cut, *(stick.length for stick in sticks)]
    broken = template.field_ends + sum(length < problem.rules.shortest for length in middle)
    return RunCandidate(
        run=run,
        template=template,
        low=low,
        high=high,
        offsets=offsets,
        holes=holes,
        broken=broken,
        cost=sum(stick.cost for stick in sticks),
    )


def _offsets(template: RunTemplate, wholes: Sequence[int]) -> tuple[int, ...]:
    """Return where the laps lie were the first cut piece of no length."""
    lengths = [*([0] if template.first else []), *template.cut, *wholes, *([0] if template.last else [])]
    return tuple(accumulate((n - template.allowances.lap for n in lengths[:-1]), initial=template.origin))[1:]


def _short(problem: LapProblem, template: RunTemplate) -> Iterator[Interval]:
    if template.first:
        yield 0, problem.rules.shortest
    if template.last:
        yield template.rest - problem.rules.shortest, template.rest


def _clear(run: LapRun, template: RunTemplate, offsets: Sequence[int]) -> Iterator[Interval]:
    """Yield for every lap where it would reach into an open stretch; stretches that overlap count once."""
    kept = reaches(run.keep_clear, template.allowances.lap)
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


def _divisor(problem: LapProblem, candidates: Sequence[Sequence[RunCandidate]], sums: Sequence[int]) -> int:
    """Return what divides every length that a corner of the choice of lengths is made of (see the package)."""
    lengths = (stick.length for stick in problem.sticks)
    found = [candidate for several in candidates for candidate in several]
    edges = (edge for candidate in found for hole in candidate.holes for edge in hole)
    return gcd(
        problem.kerf,
        *lengths,
        *(piece.length for piece in problem.pieces),
        *(candidate.template.rest for candidate in found),
        *sums,
        *edges,
    )


def _alike(runs: Sequence[LapRun]) -> tuple[int, ...]:
    numbers: dict[object, int] = {}
    keys = ((r.length, r.left, r.right, tuple((s - r.start, e - r.start) for s, e in r.keep_clear)) for r in runs)
    return tuple(numbers.setdefault(key, len(numbers)) for key in keys)


def _neighbours(problem: LapProblem) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Return for each run those whose laps bear on its own, with the number of courses between them."""
    rules = problem.rules
    reach = max(rules.repeat if rules.in_line_within else 0, 1 if rules.spacing else 0)
    courses: dict[tuple[str | None, int], list[int]] = defaultdict(list)
    for i, run in enumerate(problem.runs):
        if run.wall is not None and run.course is not None:
            courses[run.wall, run.course].append(i)

    def near(run: LapRun) -> Iterator[tuple[int, int]]:
        if run.wall is not None and run.course is not None:
            for apart in range(1, reach + 1):
                for course in (run.course - apart, run.course + apart):
                    yield from ((i, apart) for i in courses.get((run.wall, course), ()))

    return tuple(tuple(sorted(near(run))) for run in problem.runs)


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


Bag = tuple[int, ...]
"""How many of each plain piece."""


def bags(model: LapModel, kind: int) -> Iterator[Bag]:
    """Yield what plain pieces a stick of a kind can hold, none first."""
    problem = model.problem
    pieces = [problem.pieces[i] for i in model.plain]
    for bag in product(*(range(piece.demand + 1) for piece in pieces)):
        taken = sum(n * problem.taken(piece.length) for n, piece in zip(bag, pieces, strict=True))
        if taken <= problem.taken(problem.sticks[kind].length):
            yield bag


Laps = list[tuple[int, ...] | None]
"""Where the laps of every run lie, None while it has no place."""


def distances(rules: LapRules, courses: int) -> tuple[int, ...]:
    """Return the distances that laps so many courses apart must keep, one for each rule."""
    spacing = (rules.spacing,) if courses == 1 and rules.spacing > 0 else ()
    in_line = (rules.in_line_within,) if courses <= rules.repeat and rules.in_line_within > 0 else ()
    return spacing + in_line


def holes_beside(model: LapModel, candidate: RunCandidate, laps: Laps) -> Iterator[Interval]:
    """Yield the open stretches of the first piece's length in each of which one rule between courses is broken."""
    for other, courses in model.near[candidate.run]:
        for needed in distances(model.problem.rules, courses):
            for place in laps[other] or ():
                for offset in candidate.offsets:
                    yield place - needed - offset, place + needed - offset


def broken_between(rules: LapRules, one: Sequence[int], other: Sequence[int], courses: int) -> int:
    """Return how many rules the laps of two runs break together."""
    gaps = [abs(x - y) for x in one for y in other]
    return sum(gap < needed for needed in distances(rules, courses) for gap in gaps)


def broken_beside(model: LapModel, run: int, own: Sequence[int], laps: Laps) -> int:
    """Return how many rules between courses a run with these laps breaks with its neighbours."""
    return sum(
        broken_between(model.problem.rules, own, other, courses)
        for j, courses in model.near[run]
        if (other := laps[j]) is not None
    )
