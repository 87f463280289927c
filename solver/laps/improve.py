"""Plans made and bettered: laid anew at prices, ruined and recreated, and cut again by the engine.

Ruin and recreate (Schrimpf et al. 2000) takes some runs and sticks away and lays them again. For a recut every run is
kept as it is laid: what is left is an ordinary cutting problem, and the engine solves those. A run's first and last
piece are pieces that need their stick's right or left end, unless ends don't matter; whole sticks are taken off what
can be had. The engine does not know that some runs' pieces come from some kinds of sticks only (a run of three pieces
where two longer ones would do): where it took another kind, the kinds all those may come from are cut again with what
fell through, and at last whatever still waits is cut stick by stick.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from solver.categories import LapEnds
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.cutting.solve import solve
from solver.laps.bounds.pricing import PriceList
from solver.laps.construct import Construction
from solver.laps.free_ends import cover_from_left_overs
from solver.laps.model import Floats, LapModel, RunCandidate, fewest_laps
from solver.laps.state import HeldPiece, OpenStick, PartialPlan, empty_plan
from solver.laps.templates import Kinds
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

METHODS = 6
"""Methods of the engine that are tried: all up to numbers of sticks, none that ends with the watch only."""


LONG_FIRST = 0.02
"""How much more than its price the longest plain piece counts, in sticks: it is hard to place later."""
Standing = tuple[int, int, int, int, float]
Waiting = dict[tuple[int, bool], list[HeldPiece]]
"""Pieces of runs by length and whether they lie at their stick's right end."""


def leaning(model: LapModel, prices: PriceList, dice: np.random.Generator, spread: float, lean: float) -> Floats:
    """Return prices of plain pieces, each moved by up to ``spread`` of itself and long ones by ``lean`` more.

    Shape (plain pieces,), in units of cost.
    """
    plain = prices.prices.plain
    lengths = np.array([model.problem.pieces[i].length for i in model.plain], np.float64)
    longest = max(stick.length for stick in model.problem.sticks)
    dearest = max(stick.cost for stick in model.problem.sticks)
    moved: Floats = plain * (1.0 + spread * dice.uniform(-1.0, 1.0, len(plain)))
    return moved + lean * dearest * (lengths / longest) ** 2


def lay_anew(
    model: LapModel, prices: PriceList, seed: int, noise: float, most: tuple[int, ...] | None = None
) -> PartialPlan:
    """Return a plan with everything laid, of so many sticks at the ``most``; ``seed`` breaks ties."""
    dice = np.random.default_rng(seed)
    partial = empty_plan(model, most)
    Construction(partial, prices, dice).lay(leaning(model, prices, dice, noise, LONG_FIRST), noise / 20)
    return partial


def lay_placed(model: LapModel, placed: Iterable[tuple[RunCandidate, int]], prices: PriceList) -> PartialPlan:
    """Return a plan with these runs laid so, where their whole sticks can be had, the others anyhow, and all cut."""
    partial = empty_plan(model)
    for candidate, a in placed:
        wholes = candidate.template.wholes
        if all((n := model.problem.sticks[k].limit) is None or partial.used[k] + wholes.count(k) <= n for k in wholes):
            partial.place_held(candidate, a)
    dice = np.random.default_rng(0)
    Construction(partial, prices, dice).lay(leaning(model, prices, dice, 0.0, LONG_FIRST), 0.0)
    return partial


@dataclass(frozen=True, slots=True)
class Goal:
    """What is looked for: a plan that breaks no more rules and costs no more than this, its laps' price included.

    With ``cost_first`` the cost is never given up while rules are mended, otherwise the other way round. Where ``laps``
    are said, neither is given up to come down to so few.
    """

    broken: int
    cost: int
    cost_first: bool = False
    laps: int | None = None


class RuinAndRecreate:
    """Betters one partial plan."""

    def __init__(self, partial: PartialPlan, prices: PriceList, goal: Goal, seed: int) -> None:
        self._partial, self._prices, self._goal = partial, prices, goal
        self._dice = np.random.default_rng(seed)
        self._wildly = max(0.1, 1.0 / len(partial.placed))
        self._longest = max(stick.length for stick in partial.model.problem.sticks)
        self._construction = Construction(partial, prices, self._dice)
        self._fewest = fewest_laps(partial.model)
        self._broken = partial.broken
        self._now = self._standing()

    def run(self, tries: int, watch: Watch) -> bool:
        """Try so often; leave the partial plan as good as it gets, and return whether the goal is reached."""
        best, shot = self._now, self._partial.snapshot()
        kept = shot
        for _ in range(tries):
            if self._reached() or watch.stopped:
                break
            before = self._broken
            self._try()
            after = self._standing()
            if after <= self._now or (after[:4] <= self._now[:4] and self._dice.random() < 0.1):
                self._now, kept = after, self._partial.snapshot()
                if after < best:
                    best, shot = after, kept
            else:
                self._partial.restore(kept)
                self._broken = before
        self._partial.restore(shot)
        self._now = best
        return self._reached()

    def _reached(self) -> bool:
        uncut, one, other, laps, _ = self._now
        broken, cost = (other, one) if self._goal.cost_first else (one, other)
        few = self._goal.laps is None or laps <= self._goal.laps
        return uncut == 0 and broken <= self._goal.broken and cost <= self._goal.cost and few

    def _standing(self) -> Standing:
        partial = self._partial
        rooms = sum((stick.room / self._longest) ** 2 for stick in partial.sticks)
        cost = partial.objective
        both = (cost, self._broken) if self._goal.cost_first else (self._broken, cost)
        return partial.uncut, *both, 0 if self._goal.laps is None else partial.lap_count, -rooms

    def _try(self) -> None:
        runs = self._runs()
        self._broken -= self._partial.broken_about(runs)
        self._partial.lift(runs, self._sticks(runs))
        values = leaning(
            self._partial.model, self._prices, self._dice, SPREAD, LONG_FIRST / 2 * float(self._dice.random())
        )
        wild = WILD ** self._dice.random() if self._dice.random() < self._wildly else 1.0
        self._construction.lay(values, NOISE * wild)
        self._broken += self._partial.broken_about(runs)

    def _runs(self) -> set[int]:
        count = len(self._partial.placed)
        some = int(self._dice.integers(min(3, count), min(count, MOST_RUNS) + 1))
        if self._goal.laps is not None and self._dice.random() < 0.5 and (many := self._with_more_laps()):
            return {many[int(self._dice.integers(len(many)))]} | self._drawn(some // 2)
        if self._goal.cost_first and self._dice.random() < 0.8 and (about := self._about_a_breach()):
            more = self._drawn(some // 2) if self._dice.random() < 0.5 else set()
            return about | more
        way = int(self._dice.integers(3))
        if way == 0:
            return self._drawn(some)
        return self._neighbours(some) if way == 1 else self._chained(some)

    def _drawn(self, some: int) -> set[int]:
        return set(self._dice.choice(len(self._partial.placed), some, replace=False).tolist())

    def _about_a_breach(self) -> set[int]:
        partial = self._partial
        bad = [run for run in range(len(partial.placed)) if partial.own_broken(run) or partial.beside_broken(run)]
        if not bad:
            return set()
        run = bad[int(self._dice.integers(len(bad)))]
        wall = next(wall for wall in partial.model.walls if run in wall)
        at, some = wall.index(run), int(self._dice.integers(1, 5))
        return set(wall[max(0, at - some // 2) : at + some])

    def _with_more_laps(self) -> list[int]:
        """Return the runs that could have fewer laps than they have."""
        laps = zip(self._partial.laps, self._fewest, strict=True)
        return [run for run, (own, fewest) in enumerate(laps) if own and len(own) > fewest]

    def _neighbours(self, some: int) -> set[int]:
        walls = self._partial.model.walls
        wall = walls[int(self._dice.integers(len(walls)))]
        at = int(self._dice.integers(len(wall)))
        return set((wall + wall)[at : at + min(some, len(wall))])

    def _chained(self, some: int) -> set[int]:
        following = {s.left.run: s.right.run for s in self._partial.sticks if s.left and s.right and s.right.run >= 0}
        run = int(self._dice.integers(len(self._partial.placed)))
        runs = {run}
        while len(runs) < some:
            run = following.get(run, -1)
            if run < 0 or run in runs:
                run = int(self._dice.integers(len(self._partial.placed)))
                if run in runs:
                    break
            runs.add(run)
        return runs

    def _sticks(self, runs: set[int]) -> list[int]:
        """Draw sticks that hold none of the runs' pieces, by how much is left of them."""
        partial = self._partial
        others = [n for n, s in enumerate(partial.sticks) if s.whole_for is None and not s.runs() & runs]
        if not others:
            return []
        left = np.array([partial.sticks[n].room for n in others], np.float64) + self._longest / 30
        some = min(int(self._dice.integers(1, MOST_STICKS + 1)), len(others))
        drawn = self._dice.choice(len(others), some, replace=False, p=left / left.sum())
        return [others[n] for n in drawn.tolist()]


def recut(partial: PartialPlan, prices: PriceList, watch: Watch) -> PartialPlan:
    """Return the plan with the same runs laid in the same way, and all pieces cut anew."""
    anew = _laid(partial)
    kinds = frozenset(range(len(partial.model.problem.sticks)))
    fewer = _from_all(kinds, _cut(anew, kinds, watch))
    begun = anew.snapshot()
    _cut_rest(anew, prices)
    while fewer < kinds:
        other = PartialPlan(partial.model, most=partial.most)
        other.restore(begun)
        other.lift([], [n for n, s in enumerate(other.sticks) if s.kind in fewer and s.whole_for is None])
        kinds, fewer = fewer, _from_all(fewer, _cut(other, fewer, watch))
        begun = other.snapshot()
        _cut_rest(other, prices)
        anew = min(anew, other, key=lambda y: (y.uncut, y.cost))
    return anew


def cut_plain_first(model: LapModel, prices: PriceList, watch: Watch) -> PartialPlan:
    """Return a plan whose plain pieces are cut by themselves, and runs as far as may be from what that leaves."""
    partial = empty_plan(model)
    _cut(partial, frozenset(range(len(model.problem.sticks))), watch)
    cover_from_left_overs(partial)
    _cut_rest(partial, prices)
    return partial


def _from_all(kinds: Kinds, pieces: Iterable[HeldPiece]) -> Kinds:
    """Return those of the kinds that all the pieces may come from."""
    return kinds.intersection(*(held.kinds for held in pieces))


def _cut_rest(partial: PartialPlan, prices: PriceList) -> None:
    """Cut what waits, stick by stick."""
    dice = np.random.default_rng(0)
    Construction(partial, prices, dice).lay(leaning(partial.model, prices, dice, 0.0, LONG_FIRST), 0.0)


def _laid(partial: PartialPlan) -> PartialPlan:
    """Return the plan with its runs laid and nothing cut but whole sticks."""
    anew = PartialPlan(partial.model, most=partial.most, ends=list(partial.ends), starts=list(partial.starts))
    for candidate, a in filter(None, partial.placed):
        anew.place(candidate, a)
    for stick in partial.sticks:
        if stick.whole_for is None:
            _hold(anew, stick)
        elif stick.whole_for < 0:
            anew.add(stick)
    return anew


def _hold(partial: PartialPlan, stick: OpenStick) -> None:
    """Let the pieces at a stick's ends wait for another."""
    partial.ends += [held for held in (stick.left, *stick.between) if held]
    partial.starts += [stick.right] if stick.right else []


def _cut(partial: PartialPlan, kinds: Kinds, watch: Watch) -> list[HeldPiece]:
    """Cut what waits from sticks of these kinds; return the pieces that the engine would take from a wrong one."""
    waiting: Waiting = defaultdict(list)
    for right, held in ((False, partial.ends), (True, partial.starts)):
        for piece in sorted(held, key=lambda h: (h.length, h.run)):
            waiting[piece.length, right].append(piece)
    partial.ends, partial.starts = [], []
    fallen: list[HeldPiece] = []
    for pattern, times in solve(_problem(partial, waiting, kinds), watch.quiet(), METHODS).uses:
        for _ in range(times):
            stick = _filling(partial.model, pattern, waiting)
            wrong = [held for held in stick.held if stick.kind not in held.kinds]
            if wrong:
                _hold(partial, stick)
            else:
                partial.add(stick)
            fallen += wrong
    for (_, right), uncut in waiting.items():
        (partial.starts if right else partial.ends).extend(uncut)
    return fallen


def _problem(partial: PartialPlan, waiting: Waiting, kinds: Kinds) -> CuttingProblem:
    problem, (firsts, lasts) = partial.model.problem, partial.model.sides
    plain = (Piece(problem.pieces[i].length, n) for i, n in zip(partial.model.plain, partial.left, strict=True))
    matter = problem.rules.ends is LapEnds.FACTORY
    ends = (
        Piece(length, len(held), left=matter and not right, right=matter and right)
        for (length, right), held in waiting.items()
    )
    sticks = (
        Stick(
            stick.length,
            stick.cost,
            0 if k not in kinds else None if (limit := partial.limit(k)) is None else limit - partial.used[k],
            left=any(k in found for found in lasts),
            right=any(k in found for found in firsts),
        )
        for k, stick in enumerate(problem.sticks)
    )
    return CuttingProblem(tuple(sticks), (*plain, *ends), problem.kerf)


def _filling(model: LapModel, pattern: Pattern, waiting: Waiting) -> OpenStick:
    """Return the pattern as a stick, the pieces of runs taken from those that wait."""
    places, plain = list(waiting), len(model.plain)
    held = [(places[i - plain][1], waiting[places[i - plain]].pop()) for i in pattern.pieces if i >= plain]
    lefts, rights = ([piece for at_right, piece in held if at_right == right] for right in (False, True))
    stick = OpenStick(pattern.stick, plain=tuple(i for i in pattern.pieces if i < plain))
    between = (*lefts[1:], *rights[1:])
    return replace(stick, left=next(iter(lefts), None), right=next(iter(rights), None), between=between)
