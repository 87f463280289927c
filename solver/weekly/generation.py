"""Dated patterns worth choosing from: column generation (Gilmore and Gomory 1961), then one dive for whole numbers.

The dive rounds the point of the linear program down, or its largest fraction up, and prices again for what is
still wanted (Belov and Scheithauer 2002 round in the same spirit).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem
from solver.weekly.pricing import DatedPricer
from solver.weekly.program import NEARLY, DatedProgram, Point

ROUNDS = 300
"""Rounds of pricing for the whole week, at most."""
DIVE_ROUNDS = 20
"""Rounds of pricing between two roundings of the dive."""
AT_ONCE = 6
"""Patterns taken from one pricing."""


def generate(problem: DatedProblem, known: Iterable[Pattern], watch: Watch) -> list[Pattern]:
    """Return the patterns known and those that the linear program and a dive from it found, all allowed."""
    search = _Generation(problem, known, watch)
    search.dive()
    return search.patterns


class _Generation:
    def __init__(self, problem: DatedProblem, known: Iterable[Pattern], watch: Watch) -> None:
        self._problem, self._watch = problem, watch
        self._program = DatedProgram(problem)
        self._program.add([*known, *_singles(problem)])
        self._pricer = DatedPricer(problem)

    @property
    def patterns(self) -> list[Pattern]:
        """Every pattern found."""
        return self._program.patterns

    def dive(self) -> None:
        """Price, fix some patterns, and go on with the rest until nothing is wanted."""
        demands = [piece.demand for piece in self._problem.pieces]
        limits = [supply.limit for supply in self._problem.supplies]
        rounds = ROUNDS
        while any(demands) and not self._watch.stopped:
            self._program.restrict(demands, limits)
            point = self._priced(demands, limits, rounds)
            fixed = _whole(point, demands) if point else []
            if not fixed:
                return
            for pattern, count in fixed:
                _take(pattern, count, demands, limits)
            rounds = DIVE_ROUNDS

    def _priced(self, demands: Sequence[int], limits: Sequence[int | None], rounds: int) -> Point | None:
        point = self._program.solve()
        for _ in range(rounds):
            if point is None or self._watch.stopped or not self._program.add(self._better(point, demands, limits)):
                break
            point = self._program.solve()
        return point

    def _better(self, point: Point, demands: Sequence[int], limits: Sequence[int | None]) -> list[Pattern]:
        """Return patterns worth more than their stick costs; rack pieces are asked only if no bought stick has any."""
        places = [k for k, limit in enumerate(limits) if limit != 0]
        bought = [k for k in places if self._problem.supplies[k].cost]
        found = self._of(bought, point, demands)
        return found or self._of([k for k in places if not self._problem.supplies[k].cost], point, demands)

    def _of(self, places: Iterable[int], point: Point, demands: Sequence[int]) -> list[Pattern]:
        found: list[Pattern] = []
        for k in places:
            supply = self._problem.supplies[k]
            floor = supply.cost + point.charges[k] + NEARLY * max(1, supply.cost)
            best = self._pricer.best(k, point.values, demands, AT_ONCE)
            found += [pattern for worth, pattern in best if worth > floor]
        return found


def _singles(problem: DatedProblem) -> list[Pattern]:
    """Return every piece by itself, so that whatever can be cut has a pattern."""
    singles = (Pattern(k, (i,)) for k in range(len(problem.supplies)) for i in range(len(problem.pieces)))
    return [pattern for pattern in singles if problem.allowed(pattern)]


def _whole(point: Point, demands: Sequence[int]) -> list[tuple[Pattern, int]]:
    """Return patterns to fix: the whole part of every use, or one of the largest fraction that overfills least."""
    whole = [(pattern, int(x + NEARLY)) for pattern, x in point.uses if int(x + NEARLY)]
    fitting = [entry for entry in whole if _fits(entry[0], demands)]
    if fitting:
        return fitting[:1] if len(fitting) < len(whole) else whole
    if not point.uses:
        return []
    pattern, _ = max(point.uses, key=lambda use: (_fits(use[0], demands), use[1], use[0]))
    return [(pattern, 1)]


def _fits(pattern: Pattern, demands: Sequence[int]) -> bool:
    return all(demands[i] >= copies for i, copies in Counter(pattern.pieces).items())


def _take(pattern: Pattern, count: int, demands: list[int], limits: list[int | None]) -> None:
    limit = limits[pattern.stick]
    if limit is not None:
        limits[pattern.stick] = max(0, limit - count)
    for i, copies in Counter(pattern.pieces).items():
        demands[i] = max(0, demands[i] - copies * count)
