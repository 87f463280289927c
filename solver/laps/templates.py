"""How a run can be made up: its whole sticks between a first and a last cut piece, and what its pieces add up to.

With factory ends a part between two laps is an uncut stick. What is left of a run is cut at one end only, so
it is the first piece (which carries its stick's right factory end) or the last (left factory end). A lapped
outer end takes even that freedom away: the piece there is a whole stick too. So a template is a row of whole
sticks between a first and a last cut piece, either of which may be missing, and the cut pieces of a template
add up to a constant.

Where ends don't matter every piece may be cut, those between two laps too. The same templates are used for plans,
but a bound must hold for rows of any pieces: it goes by sums, which leave out no number of pieces the rules allow.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, pairwise, product
from typing import TypeVar

from solver.allowances import Allowances, widest
from solver.categories import LapEnds
from solver.laps.problem import LapProblem, LapRun, LapStick
from solver.required import Meets

T = TypeVar("T")

MOST_PARTS = 128
"""Of runs that may be made of more pieces than this nothing is proven."""


MOST_ROWS = 400
"""More rows of whole sticks than this for one run are not listed; the longest sticks come first."""

Kinds = frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunTemplate:
    """One way to make up a run, but for the length of its first piece.

    ``first`` and ``last`` are the kinds of sticks that the cut piece there may come from, empty where there is
    no such piece; ``wholes`` are kinds of sticks in order. ``rest`` is what the cut pieces add up to, ``origin``
    where the run's left end lies along the wall. ``field_ends`` counts lapped ends that should be factory ends.
    ``cut`` are lengths of further cut pieces, which come right after the first; only where ends don't matter.
    A ``loose`` piece is the whole run and needs no factory end: it may come from anywhere in its stick.
    """

    first: Kinds
    wholes: tuple[int, ...]
    last: Kinds
    rest: int
    origin: int
    allowances: Allowances
    field_ends: int = 0
    loose: bool = False
    cut: tuple[int, ...] = ()

    @property
    def parts(self) -> int:
        """How many pieces the run is made of."""
        return bool(self.first) + len(self.cut) + len(self.wholes) + bool(self.last)


@dataclass(frozen=True, slots=True)
class RunTemplates:
    """The templates of one run; ``complete`` is False where there are more that were not listed."""

    templates: tuple[RunTemplate, ...]
    complete: bool


def own(stick: LapStick) -> Allowances:
    """Return what a stick asks of the runs it is used in."""
    return Allowances(stick.lap, stick.end_gap)


def span(run: LapRun, parts: int, allowances: Allowances) -> int:
    """Return what the pieces of a run add up to, in ticks."""
    return run.length + allowances.at(run.left) + allowances.at(run.right) + allowances.lap * (parts - 1)


def fewest_parts(run: LapRun, longest: int, allowances: Allowances) -> int:
    """Return the fewest pieces, none longer than ``longest``, that cover the run."""
    gained = longest - allowances.lap
    return max(1, -(-(span(run, 1, allowances) - allowances.lap) // gained)) if gained > 0 else 1


def most_parts(problem: LapProblem, run: LapRun) -> int:
    """Return the most pieces that a run may be made of: the fewest that will do, and the extra ones allowed.

    So many do as the longest stick asks for that can be had without limit; where each is limited, the shortest that is
    bought, for then some run may have to be made of those. It goes by no stick that a plan takes, so that a plan of
    fewer pieces is never forbidden where one of more is allowed.
    """
    lapped = [stick for stick in problem.sticks if stick.limit != 0 and stick.lapped and stick.length > stick.lap]
    if endless := [fewest_parts(run, s.length, own(s)) for s in lapped if s.limit is None]:
        return min(endless) + problem.rules.extra_laps
    bought = [s for s in lapped if s.cost > 0] or sorted(lapped, key=lambda s: s.length)[-1:]
    return max((fewest_parts(run, s.length, own(s)) for s in bought), default=1) + problem.rules.extra_laps


def of_each(problem: LapProblem, say: Callable[[LapProblem, LapRun], T]) -> list[T]:
    """Return what is said of each run by its length, its ends and where it starts, worked out once for runs alike."""
    keys = [(run.length, run.left, run.right, run.start) for run in problem.runs]
    said = {key: say(problem, run) for key, run in dict(zip(keys, problem.runs, strict=True)).items()}
    return [said[key] for key in keys]


def templates_of(problem: LapProblem, run: LapRun) -> RunTemplates:
    """Return the templates a run can take; where factory ends can't be had, those with the fewest field ends lapped."""
    factory = problem.rules.ends is LapEnds.FACTORY
    left, right = factory and run.left is Meets.LAP, factory and run.right is Meets.LAP
    found = _Listing(problem, run).templates(not left, not right, 0)
    if found.templates or not (left and right):
        return found
    one = _Listing(problem, run).templates(False, True, 1)
    other = _Listing(problem, run).templates(True, False, 1)
    return RunTemplates(one.templates + other.templates, one.complete and other.complete)


class _Listing:
    """Lists the templates of one run. Sticks count by their allowances."""

    def __init__(self, problem: LapProblem, run: LapRun) -> None:
        self._problem, self._run = problem, run
        self._kinds = [k for k, stick in enumerate(problem.sticks) if stick.limit != 0 and stick.lapped]
        self._groups = list(dict.fromkeys(own(problem.sticks[k]) for k in self._kinds))
        self._complete = True

    def templates(self, first: bool, last: bool, field_ends: int) -> RunTemplates:
        """List templates with or without a cut piece at either end."""
        ends = list(product(range(len(self._groups)) if first else [-1], range(len(self._groups)) if last else [-1]))
        found = [
            template
            for parts in range(1, most_parts(self._problem, self._run) + 1)
            for wholes in self._rows(parts - first - last)
            for one, other in ends
            if (template := self._template(parts, wholes, one, other, field_ends)) is not None
        ]
        loose = list(self._loose()) if first and last else []
        return RunTemplates(tuple(dict.fromkeys([*loose, *found])), self._complete)

    def _loose(self) -> Iterator[RunTemplate]:
        """Yield how the run is one piece that needs no factory end: of a long offcut, or a stick with a small lap."""
        factory = self._problem.rules.ends is LapEnds.FACTORY
        for asked in self._groups:
            rest = span(self._run, 1, asked)
            held = (k for k in self._kinds if own(self._problem.sticks[k]) == asked)
            if kinds := frozenset(k for k in held if self._problem.sticks[k].length >= rest):
                yield RunTemplate(
                    first=kinds,
                    wholes=(),
                    last=frozenset(),
                    rest=rest,
                    origin=asked.starts_at(self._run.start, self._run.left),
                    allowances=asked,
                    loose=factory,
                )

    def _rows(self, length: int) -> Iterator[tuple[int, ...]]:
        if length < 0:
            return
        whole = [k for k in self._kinds if self._may_be_whole(self._problem.sticks[k])]
        whole.sort(key=lambda k: (self._problem.sticks[k].cost == 0, -self._problem.sticks[k].length, k))
        listed = 0
        for bag in combinations_with_replacement(whole, length):
            if self._more_than_there_are(bag):
                continue
            for row in _orders(Counter(bag)):
                if listed >= MOST_ROWS:
                    self._complete = False
                    return
                listed += 1
                yield row

    def _may_be_whole(self, stick: LapStick) -> bool:
        return self._problem.rules.ends is not LapEnds.FACTORY or (stick.left and stick.right)

    def _more_than_there_are(self, bag: Sequence[int]) -> bool:
        limits = ((k, self._problem.sticks[k].limit) for k in set(bag))
        return any(limit is not None and bag.count(k) > limit for k, limit in limits)

    def _template(
        self, parts: int, wholes: tuple[int, ...], one: int, other: int, field_ends: int
    ) -> RunTemplate | None:
        sticks = self._problem.sticks
        used = {self._groups[g] for g in (one, other) if g >= 0} | {own(sticks[k]) for k in wholes}
        both = widest(used)
        first, last = self._from(one, right=True), self._from(other, right=False)
        if (one >= 0 and not first) or (other >= 0 and not last):
            return None
        rest = span(self._run, parts, both) - sum(sticks[k].length for k in wholes)
        reach = sum(max((sticks[k].length for k in kinds), default=0) for kinds in (first, last))
        if not bool(first) + bool(last) <= rest <= reach:
            return None
        origin = both.starts_at(self._run.start, self._run.left)
        return RunTemplate(
            first=first, wholes=wholes, last=last, rest=rest, origin=origin, allowances=both, field_ends=field_ends
        )

    def _from(self, group: int, *, right: bool) -> Kinds:
        if group < 0:
            return frozenset()
        return frozenset(
            k
            for k in self._kinds
            if own(stick := self._problem.sticks[k]) == self._groups[group]
            and (self._problem.rules.ends is not LapEnds.FACTORY or (stick.right if right else stick.left))
        )


def _orders(bag: Counter[int]) -> Iterator[tuple[int, ...]]:
    """Yield the different orders of a bag of sticks, one after the other: a long row has more than can be listed."""
    kinds = sorted(kind for kind, count in bag.items() if count)
    if not kinds:
        yield ()
    for kind in kinds:
        for rest in _orders(bag - Counter((kind,))):
            yield (kind, *rest)


Interval = tuple[int, int]


def without(low: int, high: int, holes: Iterable[Interval]) -> list[Interval]:
    """Return ``low`` to ``high`` (closed) less every open stretch in ``holes``, as closed intervals in order."""
    kept: list[Interval] = []
    for start, end in sorted(holes):
        if low > high or start >= high:
            break
        if end <= low or end - start < 2:
            continue
        if start >= low:
            kept.append((low, start))
        low = max(low, end)
    if low <= high:
        kept.append((low, high))
    return kept


def levels(low: int, high: int, holes: Iterable[Interval]) -> Iterator[tuple[int, int, int]]:
    """Cut ``low`` to ``high`` where the number of open ``holes`` about a point changes: (from, to, holes)."""
    steps: Counter[int] = Counter()
    for start, end in holes:
        first, beyond = max(low, start + 1), min(high + 1, end)
        if first < beyond:
            steps[first] += 1
            steps[beyond] -= 1
    points = sorted({low, high + 1, *steps})
    depth = 0
    for point, following in pairwise(points):
        depth += steps[point]
        yield point, following - 1, depth


def hit(point: int, holes: Iterable[Interval]) -> int:
    """Return how many open stretches hold the point."""
    return sum(start < point < end for start, end in holes)


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
    most = most_parts(problem, run)
    for sticks, allowances in _stocks(problem):
        if most > MOST_PARTS and _enough(sticks, span(run, MOST_PARTS + 1, allowances), allowances):
            complete = False
        for parts in range(1, min(most, MOST_PARTS) + 1):
            length = span(run, parts, allowances)
            if parts <= length <= parts * sticks[-1].length and _can_be_had(sticks, parts, length, allowances):
                found[parts, allowances] = FreeSum(parts, length, sticks[-1].length, allowances)
    sums = sorted(found.values(), key=lambda each: (each.parts, each.length, each.asked.lap))
    return FreeSums(tuple(sums), complete)


def _stocks(problem: LapProblem) -> Iterator[tuple[list[LapStick], Allowances]]:
    """Yield the sticks that ask for no more than a lap and a gap, shortest first, where some ask for each.

    What a run is made of decides its allowances.
    """
    sticks = sorted(
        (stick for stick in problem.sticks if stick.limit != 0 and stick.lapped), key=lambda stick: stick.length
    )
    for lap, end_gap in product({s.lap for s in sticks}, {s.end_gap for s in sticks}):
        some = [s for s in sticks if s.lap <= lap and s.end_gap <= end_gap]
        if some and (max(s.lap for s in some), max(s.end_gap for s in some)) == (lap, end_gap):
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
