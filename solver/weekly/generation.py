"""Dated patterns worth choosing from: column generation (Gilmore and Gomory 1961), then one dive for whole numbers.

The dive rounds the point of the linear program down, or its largest fraction up, and prices again for what is
still wanted (Belov and Scheithauer 2002 round in the same spirit).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem, Van
from solver.weekly.pricing import DatedPricer
from solver.weekly.program import NEARLY, DatedProgram, Point

ROUNDS = 300
"""Rounds of pricing for the whole week, at most."""
DIVE_ROUNDS = 20
"""Rounds of pricing between two roundings of the dive."""
GAIN = 1e-4
"""A pattern must be worth so much more than its stick, as a share of it, to be added."""
AT_ONCE = 6
"""Patterns taken from one pricing."""


@dataclass(frozen=True, slots=True)
class Generated:
    """The patterns known and those found, all allowed, and the plan that the dive ended with."""

    patterns: list[Pattern]
    plan: Mapping[Pattern, int]


def generate(problem: DatedProblem, known: Iterable[Pattern], van: Van, watch: Watch) -> Generated:
    """Add what the linear program and a dive from it find to the patterns known."""
    search = _Generation(problem, known, van, watch)
    plan = search.dive()
    return Generated(search.patterns, plan)


class _Generation:
    def __init__(self, problem: DatedProblem, known: Iterable[Pattern], van: Van, watch: Watch) -> None:
        self._problem, self._van, self._watch = problem, van, watch
        self._program = DatedProgram(problem, van)
        self._program.add([*known, *_singles(problem)])
        self._pricer = DatedPricer(problem)

    @property
    def patterns(self) -> list[Pattern]:
        """Every pattern found."""
        return self._program.patterns

    def dive(self) -> Mapping[Pattern, int]:
        """Price, fix some patterns, and go on with the rest until nothing is wanted; return what was fixed."""
        plan: Counter[Pattern] = Counter()
        demands = [piece.demand for piece in self._problem.pieces]
        limits = [supply.limit for supply in self._problem.supplies]
        van = dict(self._van)
        rounds, share = ROUNDS, self._watch.within(self._watch.left / 2)
        while any(demands) and not self._watch.stopped:
            self._program.restrict(demands, limits, van)
            point = self._priced(demands, limits, rounds, share)
            fixed = _whole(point, demands) if point else []
            if not fixed:
                break
            for pattern, count in fixed:
                plan[pattern] += count
                _take(pattern, count, demands, limits)
                for night in self._problem.nights(pattern):
                    if night in van:
                        van[night] = max(0, van[night] - count)
            rounds, share = DIVE_ROUNDS, self._watch.within(self._watch.left / 8)
        return plan

    def _priced(self, demands: Sequence[int], limits: Sequence[int | None], rounds: int, watch: Watch) -> Point | None:
        point = self._program.solve()
        for _ in range(rounds):
            if point is None or watch.stopped or not self._program.add(self._better(point, demands, limits)):
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
            floor = (supply.cost + point.charges[k]) * (1 + GAIN) + NEARLY
            best = self._pricer.best(k, point.values, demands, point.tolls, AT_ONCE)
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
