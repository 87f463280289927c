"""Local search: take some runs and sticks away and lay them again (ruin and recreate, Schrimpf et al. 2000)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from solver.laps.begin import LONG_FIRST, leaning
from solver.laps.laying import Laying
from solver.laps.prices import PriceList
from solver.laps.yard import Yard
from solver.watch import Watch

MOST_RUNS = 14
"""Runs taken away in one try at most."""

MOST_STICKS = 6
"""Other sticks dissolved in one try at most."""

SPREAD = 0.02
"""How far, as a share of itself, a plain piece's price is moved in a try, so that tries differ."""

NOISE = 0.001
"""How much lots weigh in laying, in shares of the dearest stick's cost: enough to settle what is all but equal."""

WILD = 1000.0
"""One try in ten, and more where there are fewer than ten runs, draws lots up to so many times as freely."""

Standing = tuple[int, int, int, float]


@dataclass(frozen=True, slots=True)
class Goal:
    """What is looked for: a plan that breaks no more rules and costs no more than this.

    With ``cost_first`` the cost is never given up while rules are mended, otherwise the other way round.
    """

    broken: int
    cost: int
    cost_first: bool


class Search:
    """Betters one yard."""

    def __init__(self, yard: Yard, prices: PriceList, goal: Goal, seed: int) -> None:
        self._yard, self._prices, self._goal = yard, prices, goal
        self._dice = np.random.default_rng(seed)
        self._wildly = max(0.1, 1.0 / len(yard.placed))
        self._longest = max(stick.length for stick in yard.site.problem.sticks)
        self._laying = Laying(yard, prices, self._dice)
        self._broken = yard.broken
        self._now = self._standing()

    def run(self, tries: int, watch: Watch) -> bool:
        """Try so often; leave the yard as good as it gets, and return whether the goal is reached."""
        best, shot = self._now, self._yard.snapshot()
        kept = shot
        for _ in range(tries):
            if self._reached() or watch.stopped:
                break
            before = self._broken
            self._try()
            after = self._standing()
            if after <= self._now or (after[:3] <= self._now[:3] and self._dice.random() < 0.1):
                self._now, kept = after, self._yard.snapshot()
                if after < best:
                    best, shot = after, kept
            else:
                self._yard.restore(kept)
                self._broken = before
        self._yard.restore(shot)
        self._now = best
        return self._reached()

    def _reached(self) -> bool:
        uncut, one, other, _ = self._now
        broken, cost = (other, one) if self._goal.cost_first else (one, other)
        return uncut == 0 and broken <= self._goal.broken and cost <= self._goal.cost

    def _standing(self) -> Standing:
        yard = self._yard
        rooms = sum((stick.room / self._longest) ** 2 for stick in yard.sticks)
        both = (yard.cost, self._broken) if self._goal.cost_first else (self._broken, yard.cost)
        return yard.uncut, *both, -rooms

    def _try(self) -> None:
        runs = self._runs()
        self._broken -= self._yard.broken_about(runs)
        self._yard.lift(runs, self._sticks(runs))
        values = leaning(self._yard.site, self._prices, self._dice, SPREAD, LONG_FIRST / 2 * float(self._dice.random()))
        wild = WILD ** self._dice.random() if self._dice.random() < self._wildly else 1.0
        self._laying.lay(values, NOISE * wild)
        self._broken += self._yard.broken_about(runs)

    def _runs(self) -> set[int]:
        count = len(self._yard.placed)
        some = int(self._dice.integers(min(3, count), min(count, MOST_RUNS) + 1))
        if self._goal.cost_first and self._dice.random() < 0.8 and (about := self._about_a_breach()):
            more = self._drawn(some // 2) if self._dice.random() < 0.5 else set()
            return about | more
        way = int(self._dice.integers(3))
        if way == 0:
            return self._drawn(some)
        return self._neighbours(some) if way == 1 else self._chained(some)

    def _drawn(self, some: int) -> set[int]:
        return set(self._dice.choice(len(self._yard.placed), some, replace=False).tolist())

    def _about_a_breach(self) -> set[int]:
        yard = self._yard
        bad = [run for run in range(len(yard.placed)) if yard.own_broken(run) or yard.beside_broken(run)]
        if not bad:
            return set()
        run = bad[int(self._dice.integers(len(bad)))]
        wall = next(wall for wall in yard.site.walls if run in wall)
        at, some = wall.index(run), int(self._dice.integers(1, 5))
        return set(wall[max(0, at - some // 2) : at + some])

    def _neighbours(self, some: int) -> set[int]:
        walls = self._yard.site.walls
        wall = walls[int(self._dice.integers(len(walls)))]
        at = int(self._dice.integers(len(wall)))
        return set((wall + wall)[at : at + min(some, len(wall))])

    def _chained(self, some: int) -> set[int]:
        following = {s.left.run: s.right.run for s in self._yard.sticks if s.left and s.right and s.right.run >= 0}
        run = int(self._dice.integers(len(self._yard.placed)))
        runs = {run}
        while len(runs) < some:
            run = following.get(run, -1)
            if run < 0 or run in runs:
                run = int(self._dice.integers(len(self._yard.placed)))
                if run in runs:
                    break
            runs.add(run)
        return runs

    def _sticks(self, runs: set[int]) -> list[int]:
        """Draw sticks that hold none of the runs' pieces, by how much is left of them."""
        yard = self._yard
        others = [n for n, s in enumerate(yard.sticks) if s.whole_for is None and not s.runs() & runs]
        if not others:
            return []
        left = np.array([yard.sticks[n].room for n in others], np.float64) + self._longest / 30
        some = min(int(self._dice.integers(1, MOST_STICKS + 1)), len(others))
        drawn = self._dice.choice(len(others), some, replace=False, p=left / left.sum())
        return [others[n] for n in drawn.tolist()]
