"""Trading: besides being rearranged, pieces that need no end change sticks, and runs' pieces theirs with each other.

Where a lap is to be moved farther than its sticks have room, such an exchange makes the room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import exp

from solver.laps.rearranging.rearrangement import Part, Rearrangement
from solver.laps.state import PartialPlan
from solver.laps.templates import Kinds

MOST_LOOKED_AT = 200
"""For one exchange so many sticks and so many runs' pieces are looked at at the most."""


@dataclass(frozen=True, slots=True)
class Trade:
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


class Trading(Rearrangement):
    """Moves that exchange what sticks hold, too."""

    def __init__(self, partial: PartialPlan, seed: int, movable: Callable[[int], bool]) -> None:
        super().__init__(partial, seed, movable)
        problem = partial.model.problem
        self._sizes = [problem.taken(problem.pieces[i].length) for i in partial.model.plain]
        self._open = [n for n, stick in enumerate(partial.sticks) if stick.whole_for is None]
        self._span = max(stick.length for stick in problem.sticks) // 2

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
        more = None if worse is None else self._make_room(grown, other, abs(by), right=by < 0)
        if more is not None:
            self._resize(part, by)
        self._lay([run])
        return 0.0 if worse is None or more is None else worse + more

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

    def _make_room(self, stick: int, shrunk: int, by: int, *, right: bool) -> float | None:
        """Exchange something in a stick for something shorter, at its ``right`` end or between, if it lacks room.

        Return how much worse that is, None if it was not to be had. The stick is to hold ``by`` more, and ``shrunk``
        has so much more room than it seems.
        """
        lacking = by - self._rooms[stick]
        if lacking <= 0:
            return 0.0
        rooms = [*self._rooms]
        rooms[shrunk] += by
        trades = [
            *self._plain_trades(stick, self._some(self._open), lacking, rooms),
            *self._end_trades(stick, lacking, rooms, right=right),
        ]
        if not trades:
            return None
        trade = trades[int(self._dice.integers(len(trades)))]
        worse = self._dearer(stick, trade)
        self._exchanged(stick, trade, right=right)
        return worse

    def _some(self, numbers: Sequence[int]) -> Sequence[int]:
        """Return some of many numbers, drawn by lot."""
        if len(numbers) <= MOST_LOOKED_AT:
            return numbers
        apart = -(-len(numbers) // MOST_LOOKED_AT)
        return numbers[int(self._dice.integers(apart)) :: apart]

    def _dearer(self, stick: int, trade: Trade) -> float:
        """Return how much worse an exchange makes the plan by itself, no lap being moved."""
        del stick, trade
        return 0.0

    def _trade_any(self, warmth: float) -> float:
        """Exchange pieces of two sticks drawn by lot, so that room lies elsewhere; return how much worse that is."""
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
        if not trades:
            return 0.0
        trade = trades[int(self._dice.integers(len(trades)))]
        worse = self._dearer(stick, trade)
        if worse > 0 and self._dice.random() >= exp(-worse / warmth):
            return 0.0
        self._exchanged(stick, trade, right=right)
        return worse

    def _plain_trades(self, stick: int, others: Iterable[int], least: int, rooms: Sequence[int]) -> Iterator[Trade]:
        """Yield what plain pieces of a stick can be put to others for, so that it gains at least so much room."""
        for give in dict.fromkeys(self._plain[stick]):
            size = self._sizes[give]
            for other in others if size >= least else ():
                if other != stick:
                    if size <= rooms[other]:
                        yield Trade(other, size, give, None, plain=True)
                    for take in self._plain[other]:
                        if least <= size - self._sizes[take] <= rooms[other]:
                            yield Trade(other, size - self._sizes[take], give, take, plain=True)

    def _end_trades(self, stick: int, least: int, rooms: Sequence[int], *, right: bool) -> Iterator[Trade]:
        """Yield what other runs' pieces the one at this end of a stick can be had for."""
        for give in self._sharing[stick]:
            part = self._parts[give]
            if part is not None and (part.first if right else part.last) == stick:
                yield from self._trades_for(give, least, rooms, right=right)

    def _trades_for(self, give: int, least: int, rooms: Sequence[int], *, right: bool) -> Iterator[Trade]:
        mine = self._end(give, right=right)
        for take in self._some(range(len(self._parts))) if mine else ():
            theirs = self._end(take, right=right)
            if mine and theirs and least <= mine[1] - theirs[1] <= rooms[theirs[0]]:
                trade = self._end_trade(give, mine, take, theirs, right=right)
                if trade is not None:
                    yield trade

    def _end_trade(self, give: int, mine: _End, take: int, theirs: _End, *, right: bool) -> Trade | None:
        """Return the exchange of two parts' pieces at one end; None where the sticks may not give them."""
        (own, own_length, own_kinds), (other, length, kinds) = mine, theirs
        fits = self._partial.sticks[other].kind in own_kinds and self._partial.sticks[own].kind in kinds
        elsewhere = self._end_beyond(give, right=right), self._end_beyond(take, right=right)
        if own == other or not fits or own in elsewhere or other in elsewhere:
            return None
        return Trade(other, own_length - length, give, take, plain=False)

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

    def _exchanged(self, stick: int, trade: Trade, *, right: bool) -> None:
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
            self._sharing[stick], self._sharing[trade.other] = self._shared_after(stick, trade)
        self._rooms[stick] += trade.room
        self._rooms[trade.other] -= trade.room

    def _shared_after(self, stick: int, trade: Trade) -> tuple[list[int], list[int]]:
        """Return whose pieces each of two sticks holds once runs' pieces are exchanged."""
        take = trade.give if trade.take is None else trade.take
        parts = {trade.give: take, take: trade.give}
        mine, theirs = ([parts.get(part, part) for part in self._sharing[n]] for n in (stick, trade.other))
        return mine, theirs


def _without(pieces: tuple[int, ...], piece: int) -> tuple[int, ...]:
    at = pieces.index(piece)
    return pieces[:at] + pieces[at + 1 :]
