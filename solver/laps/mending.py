"""Mending: of a plan whose sticks do, but whose laps break rules, one of the same sticks that breaks fewer.

Whole plans made of columns cost what the bound says, and are so tight that hardly anything can be taken out and put
back at that cost. So nothing is taken out: the plan is rearranged, and besides, pieces that need no end change sticks,
and runs' pieces theirs with each other. Where a lap is to be moved farther than its sticks have room, such an exchange
makes the room. Moves fall on runs that break a rule as often as on all (as in Selman, Kautz, Cohen, "Noise Strategies
for Improving Local Search", AAAI 1994).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from solver.laps.bounds.pricing import PriceList
from solver.laps.improve import Goal, RuinAndRecreate
from solver.laps.model import RunCandidate, distances
from solver.laps.rearrange import Part, Rearrangement
from solver.laps.state import PartialPlan
from solver.laps.templates import Kinds
from solver.watch import Watch

MOVES = 1500
"""So many moves for each run."""

MOST_MOVES = 60_000

WARMTH = (0.6, 0.15)
"""Temperatures at the first and at the last move; a broken rule counts 1, and up to twice that by how far it is."""

LOOK_ROUND = 100
"""So many moves pass between looks at which runs break a rule."""


@dataclass(frozen=True, slots=True)
class _Trade:
    """What leaves a stick for the one numbered ``other``, and what comes for it: it gains so much ``room``.

    ``give`` and ``take`` are plain pieces, or parts with pieces at the same end.
    """

    other: int
    room: int
    give: int
    take: int | None
    plain: bool


_End = tuple[int, int, Kinds]
"""A part's stick at one end, the length of its piece and what it may come from."""

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


class Mending(Rearrangement):
    """Mends the laps of one plan, its sticks kept."""

    def __init__(self, partial: PartialPlan, seed: int) -> None:
        super().__init__(partial, seed, lambda run: bool(partial.laps[run]))
        problem = partial.model.problem
        self._sizes = [problem.taken(problem.pieces[i].length) for i in partial.model.plain]
        self._open = [n for n, stick in enumerate(partial.sticks) if stick.whole_for is None]
        self._span = max(stick.length for stick in problem.sticks) // 2
        reach = {courses for near in partial.model.near for _, courses in near}
        self._distances = {courses: sorted(distances(problem.rules, courses), reverse=True) for courses in reach}
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
        self._trade_any()
        return 0.0

    def _reach(self, run: int, warmth: float) -> float:
        """Move a run's laps anywhere, making the room for it; return how much worse that is."""
        part = self._part(run)
        by = self._far(run, part)
        if not by or part.first is None or part.last is None:
            return 0.0
        before = self._bad([run])
        part.a += by
        worse = self._taken(before, [run], warmth)
        part.a -= by
        grown, other = (part.first, part.last) if by > 0 else (part.last, part.first)
        lacking = abs(by) - self._rooms[grown]
        if worse is not None and (lacking <= 0 or self._make_room(grown, lacking, other, abs(by), right=by < 0)):
            self._resize(part, by)
        else:
            worse = None
        self._lay([run])
        return worse or 0.0

    def _far(self, run: int, part: Part) -> int:
        """Return by how much to move a run's laps: anywhere, or near by."""
        if part.first is None or part.last is None or part.first == part.last:
            return 0
        candidate, step = self._model.candidates[run][part.way], self._model.problem.rules.nudge
        if self._dice.random() < 0.5:
            by = int(self._dice.integers(candidate.low, candidate.high + 1)) - part.a
        else:
            by = int(self._dice.normal() * self._span * 10 ** (-2 * self._dice.random()))
        by = by // step * step
        return by if candidate.low <= part.a + by <= candidate.high else 0

    def _make_room(self, stick: int, lacking: int, shrunk: int, by: int, *, right: bool) -> bool:
        """Exchange something in a stick for something shorter, at its ``right`` end or between.

        Return whether that was to be had. The stick ``shrunk`` has ``by`` more room than it seems.
        """
        rooms = [*self._rooms]
        rooms[shrunk] += by
        trades = [
            *self._plain_trades(stick, self._open, lacking, rooms),
            *self._end_trades(stick, lacking, rooms, right=right),
        ]
        if trades:
            self._exchanged(stick, trades[int(self._dice.integers(len(trades)))], right=right)
        return bool(trades)

    def _trade_any(self) -> None:
        """Exchange pieces of two sticks drawn by lot, so that room comes to lie elsewhere."""
        right = bool(self._dice.random() < 0.5)
        if self._dice.random() < 0.5:
            stick, other = self._drawn(self._open), self._drawn(self._open)
            trades = list(self._plain_trades(stick, [other], -self._rooms[stick], self._rooms))
        else:
            give, take = (self._playing[self._drawn(self._movable)] or 0 for _ in range(2))
            mine, theirs = self._end(give, right=right), self._end(take, right=right)
            stick = mine[0] if mine else 0
            trade = self._end_trade(give, mine, take, theirs, right=right) if mine and theirs else None
            trades = [trade] if trade and -self._rooms[stick] <= trade.room <= self._rooms[trade.other] else []
        if trades:
            self._exchanged(stick, trades[int(self._dice.integers(len(trades)))], right=right)

    def _plain_trades(self, stick: int, others: Iterable[int], least: int, rooms: Sequence[int]) -> Iterator[_Trade]:
        """Yield what plain pieces of a stick can be put to others for, so that it gains at least so much room."""
        for give in dict.fromkeys(self._plain[stick]):
            size = self._sizes[give]
            for other in others if size >= least else ():
                if other != stick:
                    if size <= rooms[other]:
                        yield _Trade(other, size, give, None, plain=True)
                    for take in self._plain[other]:
                        if least <= size - self._sizes[take] <= rooms[other]:
                            yield _Trade(other, size - self._sizes[take], give, take, plain=True)

    def _end_trades(self, stick: int, least: int, rooms: Sequence[int], *, right: bool) -> Iterator[_Trade]:
        """Yield what other runs' pieces the one at this end of a stick can be had for."""
        for give, part in enumerate(self._parts):
            if part is not None and (part.first if right else part.last) == stick:
                yield from self._trades_for(give, least, rooms, right=right)

    def _trades_for(self, give: int, least: int, rooms: Sequence[int], *, right: bool) -> Iterator[_Trade]:
        mine = self._end(give, right=right)
        for take in range(len(self._parts)) if mine else ():
            theirs = self._end(take, right=right)
            if mine and theirs and least <= mine[1] - theirs[1] <= rooms[theirs[0]]:
                trade = self._end_trade(give, mine, take, theirs, right=right)
                if trade is not None:
                    yield trade

    def _end_trade(self, give: int, mine: _End, take: int, theirs: _End, *, right: bool) -> _Trade | None:
        """Return the exchange of two parts' pieces at one end; None where the sticks may not give them."""
        (own, own_length, own_kinds), (other, length, kinds) = mine, theirs
        fits = self._partial.sticks[other].kind in own_kinds and self._partial.sticks[own].kind in kinds
        elsewhere = self._end_beyond(give, right=right), self._end_beyond(take, right=right)
        if own == other or not fits or own in elsewhere or other in elsewhere:
            return None
        return _Trade(other, own_length - length, give, take, plain=False)

    def _end(self, number: int, *, right: bool) -> _End | None:
        """Return a part's stick at this end, the length of its piece and what it may come from; None for no piece."""
        part = self._parts[number]
        stick = None if part is None else part.first if right else part.last
        if part is None or stick is None or stick in self._still or part.first == part.last:
            return None
        template = self._model.candidates[number][part.way].template
        return (stick, part.a, template.first) if right else (stick, template.rest - part.a, template.last)

    def _end_beyond(self, number: int, *, right: bool) -> int | None:
        """Return the stick of the part's piece at the other end."""
        part = self._parts[number]
        return None if part is None else part.last if right else part.first

    def _exchanged(self, stick: int, trade: _Trade, *, right: bool) -> None:
        if trade.plain:
            self._plain[stick] = _without(self._plain[stick], trade.give)
            self._plain[trade.other] = (*self._plain[trade.other], trade.give)
            if trade.take is not None:
                self._plain[trade.other] = _without(self._plain[trade.other], trade.take)
                self._plain[stick] = (*self._plain[stick], trade.take)
        else:
            for number, at in ((trade.give, trade.other), (trade.take, stick)):
                part = None if number is None else self._parts[number]
                if part is not None:
                    part.first, part.last = (at, part.last) if right else (part.first, at)
        self._rooms[stick] += trade.room
        self._rooms[trade.other] -= trade.room


def _own(candidate: RunCandidate, a: int) -> float:
    """Return how many rules of its own a run breaks, and by how far."""
    holes = [(low, high) for low, high in candidate.holes if low < a < high]
    return candidate.broken + sum(1.0 + 2.0 * min(a - low, high - a) / (high - low) for low, high in holes)


def _without(pieces: tuple[int, ...], piece: int) -> tuple[int, ...]:
    at = pieces.index(piece)
    return pieces[:at] + pieces[at + 1 :]
