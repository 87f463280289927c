"""Pieces exchanged between sticks so that fewer lie cut and not yet hung, where that costs nothing.

A stick is cut when the first of its pieces is hung, and the others wait. What is kept least is for how many stretches
they all wait together. Two pieces that need no factory end change places where both sticks hold them then and no less
is kept of what is left. It goes on until no exchange betters anything; the number of those looked at is counted.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from solver.demand import Demand, Kind, Source
from solver.job import turns_of
from solver.plan import PlacedPiece

MOST_LOOKED_AT = 500_000
"""So many exchanges are looked at."""

Cuts = list[tuple[Kind, PlacedPiece]]
"""What one stick gives: kinds of pieces, and whom each is for."""


def exchanged(demand: Demand, sources: Sequence[Source], sticks: Sequence[Cuts]) -> list[Cuts]:
    """Return what each stick gives (``sources[n]`` is stick ``n``'s) with pieces exchanged."""
    exchange = _Exchange(demand, sources, sticks)
    exchange.run()
    return exchange.sticks


class _Exchange:
    def __init__(self, demand: Demand, sources: Sequence[Source], sticks: Sequence[Cuts]) -> None:
        settings = demand.material.settings
        self._kerf, self._keep_from, self._turns = settings.kerf, settings.keep_offcuts_from, turns_of(demand.job)
        self.sticks = [list(cuts) for cuts in sticks]
        self._rooms = [
            source.stick.length + self._kerf - sum(kind.takes + self._kerf for kind, _ in cuts)
            for source, cuts in zip(sources, sticks, strict=True)
        ]
        required, runs = demand.job.required, set(demand.runs)
        walls = any(required[whose.item].wall for cuts in sticks for _, whose in cuts)
        self._places = [
            (stick, place)
            for stick, cuts in enumerate(sticks)
            for place, (kind, whose) in enumerate(cuts)
            if walls and len(cuts) > 1 and not (whose.item in runs or kind.needs_left or kind.needs_right)
        ]

    def run(self) -> None:
        """Exchange pieces as long as that betters anything."""
        left, going_on = MOST_LOOKED_AT, True
        while going_on and left > 0:
            going_on = False
            for one, other in combinations(self._places, 2):
                left -= 1
                if one[0] != other[0] and self._better(one, other):
                    going_on = True
                if not left:
                    return

    def _better(self, one: tuple[int, int], other: tuple[int, int]) -> bool:
        """Exchange two pieces if that betters the plan; return whether it did."""
        (stick, place), (other_stick, other_place) = one, other
        mine, theirs = self.sticks[stick], self.sticks[other_stick]
        longer = mine[place][0].takes - theirs[other_place][0].takes
        rooms = self._rooms[stick] + longer, self._rooms[other_stick] - longer
        if min(rooms) < 0 or sum(map(self._kept, rooms)) < self._kept_of(stick) + self._kept_of(other_stick):
            return False
        before = self._begun(mine) + self._begun(theirs)
        mine[place], theirs[other_place] = theirs[other_place], mine[place]
        if self._begun(mine) + self._begun(theirs) <= before:
            mine[place], theirs[other_place] = theirs[other_place], mine[place]
            return False
        self._rooms[stick], self._rooms[other_stick] = rooms
        return True

    def _begun(self, cuts: Cuts) -> int:
        """Return when a stick is cut, once for each piece: the later that is, the less they wait all together."""
        return len(cuts) * min(self._turns[whose.item, whose.course] for _, whose in cuts)

    def _kept_of(self, stick: int) -> int:
        return self._kept(self._rooms[stick])

    def _kept(self, room: int) -> int:
        """Return how much is kept of a stick with so much room for a piece and its cut."""
        left = room - self._kerf
        return left if left >= self._keep_from else 0
