"""Each day cut by itself: what a plan leaves open is cut on its own day, from whole sticks, by the engine.

The engine proves a day in milliseconds, so a plan need only say what is carried from day to day; the rest follows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from solver.cutting import Cutting, CuttingProblem, Pattern, solve
from solver.watch import Watch
from solver.weekly.timed import Residual, TimedProblem

DAY_SECONDS = 2.0
"""What one day of one material may take; it is proven in far less, or left as it is by then."""
SHARES = (Fraction(1), Fraction(3, 4), Fraction(1, 2), Fraction(1, 4))
"""Of the sticks that were announced for a day, what share is tried to be kept."""
Uses = Counter[Pattern]
"""How often each pattern is cut."""


class DayCutting:
    """Cuts the days of one timed problem, each question once."""

    def __init__(self, problem: TimedProblem, watch: Watch) -> None:
        self._problem, self._watch = problem, watch
        self._days = sorted({piece.day for piece in problem.pieces})
        self._known: dict[tuple[object, ...], Cutting] = {}

    def filled(self, uses: Mapping[Pattern, int]) -> Uses:
        """Return a plan with what it leaves uncut cut on its own day, as far as there are sticks left."""
        plan, left = Counter(uses), Residual(self._problem, {})
        left.take_all(uses)
        for day in self._days:
            cut = self._cut(day, left)
            left.take_all(cut)
            plan += cut
        return plan

    def without_useless_carries(self, uses: Mapping[Pattern, int]) -> Uses:
        """Return a plan that carries no offcut which saves nothing; it costs no more and leaves no more uncut."""
        plan = Counter(uses)
        for pattern in sorted(uses, key=lambda p: (-self._problem.carried(p), p)):
            while self._problem.carried(pattern) and plan[pattern] and not self._watch.stopped:
                lighter = self.filled(self._without(plan, pattern))
                if self._problem.objective(lighter) > self._problem.objective(plan):
                    break
                plan = lighter
        return plan

    def keeping_announced(self, uses: Mapping[Pattern, int], known: Mapping[Pattern, int]) -> Uses:
        """Return a plan as good in which more of the sticks of ``known`` are cut as they are there.

        Day by day, as many of them as fit beside what is carried are laid first, those that waste least before others;
        where the rest then costs more, fewer of them.
        """
        plan = Counter(uses)
        for day in self._days:
            own = [p for p in sorted(known, key=self._waste) for _ in range(known[p]) if self._problem.days(p) == [day]]
            for share in SHARES if own else ():
                other = self._begun(plan, day, own, share)
                if self._problem.objective(other) <= self._problem.objective(plan):
                    plan = max(plan, other, key=lambda each: (each & Counter(known)).total())
                    break
        return plan

    def _waste(self, pattern: Pattern) -> tuple[int, Pattern]:
        used = sum(self._problem.taken(self._problem.pieces[i].length) for i in pattern.pieces)
        return self._problem.supplies[pattern.stick].length - used, pattern

    def _begun(self, plan: Uses, day: int, own: Sequence[Pattern], share: Fraction) -> Uses:
        """Return a plan whose day begins with such a share of ``own`` as fits."""
        begun = Counter({p: n for p, n in plan.items() if self._problem.days(p) != [day]})
        left = Residual(self._problem, {})
        left.take_all(begun)
        fitting: list[Pattern] = []
        for pattern in own:
            if left.fits(pattern, 1):
                left.take(pattern, 1)
                fitting.append(pattern)
        begun.update(fitting[: int(len(fitting) * share)])
        return self.filled(begun)

    def _without(self, plan: Uses, pattern: Pattern) -> Uses:
        """Return a plan with one stick less, and with its days open again but for what is carried."""
        days = set(self._problem.days(pattern))
        kept = Counter(
            {p: n for p, n in plan.items() if self._problem.carried(p) or self._problem.days(p)[0] not in days}
        )
        kept[pattern] -= 1
        return +kept

    def least(self) -> int:
        """Return what no plan that cuts everything and carries nothing costs less than; 0 where that is not known.

        Every day has all there is to itself, so limited sticks may count for several.
        """
        cuttings = [self._solved(*self._asked(day, Residual(self._problem, {}))) for day in self._days]
        known = all(cutting.least_uncut and not any(cutting.uncut) for cutting in cuttings)
        return sum(cutting.bound for cutting in cuttings) if known else 0

    def _cut(self, day: int, left: Residual) -> Uses:
        wanted, limits = self._asked(day, left)
        if not wanted:
            return Counter()
        alike: dict[tuple[int, bool, bool], list[int]] = {}
        for i, count in wanted.items():
            piece = self._problem.pieces[i]
            alike.setdefault((piece.length, piece.left, piece.right), []).extend([i] * count)
        kinds = self._of_day(wanted, limits).pieces
        dealt = [iter(alike[piece.length, piece.left, piece.right]) for piece in kinds]
        return Counter(_dealt(self._solved(wanted, limits).uses, dealt))

    def _asked(self, day: int, left: Residual) -> tuple[dict[int, int], tuple[int | None, ...]]:
        """Return what is left to cut on a day, and how many sticks there are for it."""
        wanted = {i: n for i, n in enumerate(left.demands) if n and self._problem.pieces[i].day == day}
        limits = tuple(
            limit if supply.first <= day and supply.opened is None else 0
            for supply, limit in zip(self._problem.supplies, left.limits, strict=True)
        )
        return wanted, limits

    def _of_day(self, wanted: Mapping[int, int], limits: Iterable[int | None]) -> CuttingProblem:
        supplies = tuple(replace(s, limit=limit) for s, limit in zip(self._problem.supplies, limits, strict=True))
        pieces = tuple(replace(self._problem.pieces[i], demand=count) for i, count in wanted.items())
        return replace(self._problem, supplies=supplies, pieces=pieces).relaxed()

    def _solved(self, wanted: Mapping[int, int], limits: tuple[int | None, ...]) -> Cutting:
        key = (tuple(wanted.items()), limits)
        if key not in self._known:
            self._known[key] = solve(self._of_day(wanted, limits), self._watch.within(DAY_SECONDS))
        return self._known[key]


def _dealt(uses: Iterable[tuple[Pattern, int]], dealt: list[Iterator[int]]) -> Iterator[Pattern]:
    """Yield stick by stick with the week's pieces in it; a piece cut once too often is left out."""
    for pattern, times in uses:
        for _ in range(times):
            pieces = [i for j in pattern.pieces if (i := next(dealt[j], None)) is not None]
            if pieces:
                yield Pattern(pattern.stick, tuple(sorted(pieces)))
