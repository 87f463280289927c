"""What to carry from day to day: column generation over all materials at once, then dives for whole numbers.

Dated patterns are generated for the linear program (Gilmore and Gomory 1961). A dive fixes only the patterns that
lie in the van or take a stick of which there are few, rounding the linear program's point down, or the largest
fractions up where nothing is whole (Belov and Scheithauer 2002 round in the same spirit); what then is left of each
day is a small problem of its own. Dives differ in how often they price between two roundings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.pricing import DatedPricer
from solver.weekly.program import NEARLY, Column, DatedProgram, Part, Point
from solver.weekly.remaining import Remaining

ROUNDS = 300
"""Rounds of pricing before the first rounding, at most."""
DIVES = (0, 2, 20)
"""Rounds of pricing between two roundings, for one dive after the other."""
GAIN = 1e-4
"""A pattern must be worth so much more than its stick, as a share of it, to be added."""
AT_ONCE = 6
"""Patterns taken from one pricing."""
AT_ONCE_UP, UP_FROM = 8, 0.6
"""One in so many of the fractions is rounded up at once, if it is so large or the largest."""


class Generation:
    """Patterns of several materials and the plans that dives find with them."""

    def __init__(self, parts: Sequence[Part], known: Sequence[Iterable[Pattern]], van: Van, watch: Watch) -> None:
        self._problems, self._van, self._watch = [part.problem for part in parts], van, watch
        self._program = DatedProgram(parts, van)
        self._pricers = [DatedPricer(problem) for problem in self._problems]
        for k, problem in enumerate(self._problems):
            self._program.add(k, [*known[k], *_singles(problem)])
        self.point = self._priced(self._remaining(), ROUNDS)
        """The linear program's answer for the whole week; None if it lost its footing."""

    def dives(self) -> Iterator[list[Counter[Pattern]]]:
        """Yield for each dive what it carries and which few sticks it takes, material by material."""
        for rounds in DIVES:
            if not self._watch.stopped:
                yield self._dive(rounds)

    def _dive(self, rounds: int) -> list[Counter[Pattern]]:
        plan: list[Counter[Pattern]] = [Counter() for _ in self._problems]
        remaining, point = self._remaining(), self.point
        while point is not None and not self._watch.stopped:
            fixed = list(_fixed(self._tied(point), remaining))
            for (k, pattern), count in fixed:
                plan[k][pattern] += count
            if not fixed:
                break
            point = self._priced(remaining, rounds)
        return plan

    def _remaining(self) -> list[Remaining]:
        room = dict(self._van)
        return [Remaining(problem, room) for problem in self._problems]

    def _tied(self, point: Point) -> list[tuple[Column, float]]:
        """Return the uses of patterns that do not follow from their day alone, largest first."""
        tied = [use for use in point.uses if self._is_tied(*use[0])]
        return sorted(tied, key=lambda use: (-use[1], use[0]))

    def _is_tied(self, part: int, pattern: Pattern) -> bool:
        problem = self._problems[part]
        return problem.carried(pattern) > 0 or problem.supplies[pattern.stick].limit is not None

    def _priced(self, remaining: Sequence[Remaining], rounds: int) -> Point | None:
        """Return the program's answer once no pattern makes it better; the last it gave where it loses its footing."""
        self._program.restrict(remaining)
        point = self._program.solve()
        for _ in range(rounds):
            if point is None or self._watch.stopped or not self._add_better(point, remaining):
                break
            following = self._program.solve()
            if following is None:
                break
            point = following
        return point

    def _add_better(self, point: Point, remaining: Sequence[Remaining]) -> int:
        return sum(self._program.add(k, self._better(k, point, left)) for k, left in enumerate(remaining))

    def _better(self, part: int, point: Point, left: Remaining) -> list[Pattern]:
        """Return patterns worth more than their stick costs; rack pieces are asked only if no bought stick has any."""
        supplies = self._problems[part].supplies
        places = [k for k, limit in enumerate(left.limits) if limit != 0]
        found = self._of(part, [k for k in places if supplies[k].cost], point, left)
        return found or self._of(part, [k for k in places if not supplies[k].cost], point, left)

    def _of(self, part: int, places: Iterable[int], point: Point, left: Remaining) -> list[Pattern]:
        found: list[Pattern] = []
        worths = point.worths[part]
        for k in places:
            floor = (self._problems[part].supplies[k].cost + worths.charges[k]) * (1 + GAIN) + NEARLY
            best = self._pricers[part].best(k, worths.values, left.demands, worths.tolls, AT_ONCE)
            found += [pattern for worth, pattern in best if worth > floor]
        return found


def _singles(problem: DatedProblem) -> list[Pattern]:
    """Return every piece by itself, so that whatever can be cut has a pattern."""
    singles = (Pattern(k, (i,)) for k in range(len(problem.supplies)) for i in range(len(problem.pieces)))
    return [pattern for pattern in singles if problem.allowed(pattern)]


def _fixed(uses: Sequence[tuple[Column, float]], remaining: Sequence[Remaining]) -> Iterator[tuple[Column, int]]:
    """Take the whole part of every use that fits, or one each of the largest fractions, and yield what was taken."""
    whole = [(column, int(x + NEARLY)) for column, x in uses if int(x + NEARLY)]
    taken = [entry for entry in whole if _taken(entry, remaining)]
    if not taken:
        fitting = [(column, x) for column, x in uses if remaining[column[0]].fits(column[1], 1)]
        most = max(1, len(fitting) // AT_ONCE_UP)
        up = [(column, 1) for column, x in fitting[:most] if x >= min(UP_FROM, fitting[0][1])]
        taken = [entry for entry in up if _taken(entry, remaining)]
    yield from taken


def _taken(entry: tuple[Column, int], remaining: Sequence[Remaining]) -> bool:
    (part, pattern), count = entry
    if not remaining[part].fits(pattern, count):
        return False
    remaining[part].take(pattern, count)
    return True
