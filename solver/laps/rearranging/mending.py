"""Mending: of a plan whose sticks do, but whose laps break rules, one of the same sticks that breaks fewer.

Whole plans made of columns cost what the bound says, and are so tight that hardly anything can be taken out and put
back at that cost. So nothing is taken out: the plan is rearranged, and besides, pieces that need no end change sticks,
and runs' pieces theirs with each other. Where a lap is to be moved farther than its sticks have room, such an exchange
makes the room. Moves fall on runs that break a rule as often as on all (as in Selman, Kautz, Cohen, "Noise Strategies
for Improving Local Search", AAAI 1994).
"""

from __future__ import annotations

from collections.abc import Sequence

from solver.laps.bounds.pricing import PriceList
from solver.laps.improve import Goal, RuinAndRecreate
from solver.laps.model import RunCandidate, distances
from solver.laps.rearranging.trading import Trading
from solver.laps.state import PartialPlan
from solver.watch import Watch

MOVES = 1500
"""So many moves for each run."""

MOST_MOVES = 60_000

WARMTH = (0.6, 0.15)
"""Temperatures at the first and at the last move; a broken rule counts 1, and up to twice that by how far it is."""

LOOK_ROUND = 100
"""So many moves pass between looks at which runs break a rule."""

MENDABLE = 3
"""Where another plan is soon made, one that breaks so many rules too many is not mended further."""

MEND_TRIES = 300
"""Tries to take out and put back what is still amiss in a plan: it has the cost already."""

BETTER_TRIES = 150
"""Tries to better a plan otherwise."""


def mended(
    plan: PartialPlan, prices: PriceList, goal: Goal, least: int, seed: int, watch: Watch, *, soon: bool
) -> PartialPlan | None:
    """Return a plan that breaks no more rules, and costs no more unless it might still come to less than the goal.

    ``least`` is what no plan costs less than. None where another plan is ``soon`` made and this breaks too many.
    """
    partial = Mending(plan, seed).run(watch)
    if soon and partial.broken > goal.broken + MENDABLE:
        return None
    first = Goal(goal.broken, partial.objective, cost_first=True)
    if not RuinAndRecreate(partial, prices, first, seed).run(MEND_TRIES, watch) and partial.objective < goal.cost:
        RuinAndRecreate(partial, prices, Goal(goal.broken, least), seed).run(BETTER_TRIES, watch)
    return partial


class Mending(Trading):
    """Mends the laps of one plan, its sticks kept."""

    def __init__(self, partial: PartialPlan, seed: int) -> None:
        super().__init__(partial, seed, lambda run: bool(partial.laps[run]))
        rules, reach = partial.model.problem.rules, {courses for near in partial.model.near for _, courses in near}
        self._distances = {courses: sorted(distances(rules, courses), reverse=True) for courses in reach}
        self._breaking: list[int] = []
        self._made = 0

    def run(self, watch: Watch) -> PartialPlan:
        """Return the plan with as few rules broken as it gets; never with more."""
        bad = self._bad(self._movable)[1]
        moves = min(MOST_MOVES, MOVES * len(self._movable))
        self._anneal(moves, WARMTH, watch, enough=0.5 - bad)
        mended = self._written()
        return mended if mended.broken < self._partial.broken else self._partial

    def _bad(self, runs: Sequence[int]) -> tuple[int, float]:
        """Return 0, for more rules may be broken on the way, and how many are and by how far."""
        some, bad = set(runs), 0.0
        for run in some:
            if (at := self._laid[run]) is not None:
                bad += _own(*at)
            for other, courses in self._model.near[run]:
                if not (other in some and other < run):
                    bad += self._between(run, other, courses)
        return 0, bad

    def _between(self, run: int, other: int, courses: int) -> float:
        own, others, distances_kept = self._laps[run] or (), self._laps[other] or (), self._distances[courses]
        widest, bad = distances_kept[0], 0.0
        for x in own:
            for y in others:
                if (gap := abs(x - y)) < widest:
                    bad += sum(2.0 - gap / needed for needed in distances_kept if gap < needed)
        return bad

    def _move(self, warmth: float) -> float:
        if self._made % LOOK_ROUND == 0:
            self._breaking = [run for run in self._movable if self._bad([run])[1] > 0]
        self._made += 1
        run = self._drawn(self._breaking if self._breaking and self._dice.random() < 0.5 else self._movable)
        lot = float(self._dice.random())
        if lot < 0.35:
            return self._reach(run, warmth)
        if lot < 0.6:
            return self._exchange(run, warmth)
        if lot < 0.7:
            return self._turn(run, warmth)
        if lot < 0.75:
            return self._shift(run, warmth)
        return self._trade_any(warmth)


def _own(candidate: RunCandidate, a: int) -> float:
    """Return how many rules of its own a run breaks, and by how far."""
    holes = [(low, high) for low, high in candidate.holes if low < a < high]
    return candidate.broken + sum(1.0 + 2.0 * min(a - low, high - a) / (high - low) for low, high in holes)
