"""The week of one material in plain integers, indexed by day: pieces with a day, sticks with a first day.

A pattern is a stick and its pieces, whatever days they are cut on: the days follow from the pieces.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from solver.cutting.problem import CuttingProblem, Pattern, Piece, Sawn, Stick

Van = Mapping[int, int]
"""How many offcuts the van takes in the night after each day; nights left out have no limit."""


@dataclass(frozen=True, slots=True)
class Supply:
    """One kind of stick that can be cut from day ``first`` on.

    ``opened`` is the day after which it began to lie in the van, None for an uncut stick or one on the rack.
    """

    length: int
    cost: int
    limit: int | None
    left: bool
    right: bool
    first: int
    opened: int | None = None


@dataclass(frozen=True, slots=True)
class TimedPiece:
    """Pieces alike that are cut on one day; ``left`` and ``right`` say which factory ends they must carry."""

    length: int
    demand: int
    left: bool
    right: bool
    day: int


@dataclass(frozen=True, slots=True)
class TimedProblem(Sawn):
    """Cut every piece on its day; what a stick leaves for a later day is at least ``keep_from`` long."""

    supplies: tuple[Supply, ...]
    pieces: tuple[TimedPiece, ...]
    kerf: int
    keep_from: int

    @property
    def shortest(self) -> int:
        """The shortest offcut that can be carried."""
        return max(1, self.keep_from)

    def relaxed(self) -> CuttingProblem:
        """Return the problem as if all were cut on one day, its pieces merged: no timed plan costs less."""
        demand: dict[tuple[int, bool, bool], int] = {}
        for piece in self.pieces:
            key = piece.length, piece.left, piece.right
            demand[key] = demand.get(key, 0) + piece.demand
        pieces = tuple(Piece(length, count, left, right) for (length, left, right), count in sorted(demand.items()))
        sticks = tuple(Stick(s.length, s.cost, s.limit, s.left, s.right) for s in self.supplies)
        return CuttingProblem(sticks, pieces, self.kerf, self.keep_from)

    def by_day(self, pattern: Pattern) -> list[tuple[int, list[TimedPiece]]]:
        """Return a pattern's pieces day by day."""
        pieces = sorted((self.pieces[i] for i in pattern.pieces), key=lambda piece: piece.day)
        return [(day, list(group)) for day, group in groupby(pieces, key=lambda piece: piece.day)]

    def days(self, pattern: Pattern) -> list[int]:
        """Return the days on which a pattern's stick is cut, in order."""
        return sorted({self.pieces[i].day for i in pattern.pieces})

    def nights(self, pattern: Pattern) -> range:
        """Return the days after which the stick lies in the van overnight."""
        days, opened = self.days(pattern), self.supplies[pattern.stick].opened
        return range(days[0] if opened is None else opened, days[-1])

    def carried(self, pattern: Pattern) -> int:
        """Return how many offcuts the pattern takes along to a later day."""
        return len(self.days(pattern)) - (self.supplies[pattern.stick].opened is None)

    @property
    def carrying_cost(self) -> float:
        """What carrying an offcut costs while patterns are sought: so little that no stick is bought for it."""
        return min((supply.cost for supply in self.supplies if supply.cost), default=0) / 1000

    def objective(self, uses: Mapping[Pattern, int]) -> tuple[int, int]:
        """Return the length that a plan leaves uncut, and what it costs: the less, the better the plan."""
        made: Counter[int] = Counter()
        for pattern, times in uses.items():
            for i in pattern.pieces:
                made[i] += times
        uncut = sum(max(0, piece.demand - made[i]) * piece.length for i, piece in enumerate(self.pieces))
        return uncut, sum(times * self.supplies[pattern.stick].cost for pattern, times in uses.items())

    def trimmed(self, uses: Mapping[Pattern, int]) -> dict[Pattern, int]:
        """Return a plan without the pieces that are cut too often, taken first from sticks that are carried."""
        over = [-piece.demand for piece in self.pieces]
        for pattern, times in uses.items():
            for i in pattern.pieces:
                over[i] += times
        made: Counter[Pattern] = Counter()
        for pattern in sorted(uses, key=lambda p: (-self.carried(p), p)):
            for _ in range(uses[pattern]):
                kept = []
                for i in reversed(pattern.pieces):
                    if over[i] > 0:
                        over[i] -= 1
                    else:
                        kept.append(i)
                if kept:
                    made[Pattern(pattern.stick, tuple(reversed(kept)))] += 1
        return dict(made)

    def allowed(self, pattern: Pattern) -> bool:
        """Whether the stick can be cut so: long enough each day, delivered, and with the ends that are needed.

        Each day's pieces come off one end of what is left or off both, so what is left after the first day
        has lost a factory end: later days can't want both.
        """
        supply, days = self.supplies[pattern.stick], self.by_day(pattern)
        pieces = [piece for _, group in days for piece in group]
        if days[0][0] < supply.first:
            return False
        if any(piece.left and piece.right for piece in pieces):
            return len(pieces) == 1 and supply.left and supply.right and pieces[0].length == supply.length
        return self._ends_suffice(supply, days) and self._lengths_suffice(supply, days)

    def _ends_suffice(self, supply: Supply, days: Sequence[tuple[int, list[TimedPiece]]]) -> bool:
        lefts, rights = ([day for day, group in days for p in group if getattr(p, end)] for end in ("left", "right"))
        if len(lefts) > supply.left or len(rights) > supply.right:
            return False
        return not (lefts and rights) or days[0][0] in (lefts[0], rights[0])

    def _lengths_suffice(self, supply: Supply, days: Iterable[tuple[int, list[TimedPiece]]]) -> bool:
        room, cut_before = self.taken(supply.length), False
        for _, group in days:
            if cut_before and room < self.taken(self.shortest):
                return False
            room -= sum(self.taken(piece.length) for piece in group)
            cut_before = True
        return room >= 0


class Residual:
    """Pieces wanted, sticks left, and the room in the van, which several materials share."""

    def __init__(self, problem: TimedProblem, room: dict[int, int]) -> None:
        self.problem, self.room = problem, room
        self.demands = [piece.demand for piece in problem.pieces]
        self.limits = [supply.limit for supply in problem.supplies]

    def fits(self, pattern: Pattern, times: int) -> bool:
        """Whether a pattern can be cut so often without a piece, a stick or an offcut in the van too many."""
        limit = self.limits[pattern.stick]
        return (
            all(self.demands[i] >= copies * times for i, copies in Counter(pattern.pieces).items())
            and (limit is None or limit >= times)
            and all(self.room.get(night, times) >= times for night in self.problem.nights(pattern))
        )

    def take(self, pattern: Pattern, times: int) -> None:
        """Cut a pattern so often; pieces cut too often are no longer wanted, no less."""
        for i, copies in Counter(pattern.pieces).items():
            self.demands[i] = max(0, self.demands[i] - copies * times)
        limit = self.limits[pattern.stick]
        if limit is not None:
            self.limits[pattern.stick] = max(0, limit - times)
        for night in self.problem.nights(pattern):
            if night in self.room:
                self.room[night] -= times

    def take_all(self, uses: Mapping[Pattern, int]) -> None:
        """Cut a whole plan."""
        for pattern, times in uses.items():
            self.take(pattern, times)


def fits(nights: Counter[int], van: Van) -> bool:
    """Whether so many offcuts a night fit in the van."""
    return all(count <= van.get(night, count) for night, count in nights.items())


def carried_nights(chosen: Iterable[tuple[TimedProblem, Mapping[Pattern, int]]]) -> Counter[int]:
    """Count the offcuts that lie in the van in the night after each day."""
    nights: Counter[int] = Counter()
    for problem, uses in chosen:
        for pattern, times in uses.items():
            for night in problem.nights(pattern):
                nights[night] += times
    return nights
