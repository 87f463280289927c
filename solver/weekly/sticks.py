"""The physical sticks of the week: whom each piece is for, and how each day's pieces lie in what is left."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from solver.demand import Kind, Source
from solver.filling import in_cutting_order
from solver.plan import PlacedPiece
from solver.weekly.pieces import Claim, claim_of
from solver.weekly.pooling import Pooled

ClaimedCut = tuple[Kind, Claim]
"""A piece cut, and the job's piece it is for."""


@dataclass(slots=True)
class WeekStick:
    """One stick from its first to its last day: ``days[d]`` is what is cut from it on day ``d``, from its left end.

    ``source`` is the stick as it begins that day; it changes as the week is gone through. ``ordered`` is the stock
    length to order, None where the stick is there already.
    """

    material: str
    source: Source
    ordered: str | None
    days: dict[int, tuple[ClaimedCut, ...]] = field(default_factory=dict)

    def after(self, day: int) -> int | None:
        """Return how many of the day's cuts what is left must lie behind, so that a later day finds its end."""
        later = [kind for d, cuts in self.days.items() if d > day for kind, _ in cuts]
        today = [kind for kind, _ in self.days[day]]
        if not later:
            return None
        if any(kind.needs_left for kind in later):
            return 0
        if any(kind.needs_right for kind in later) or not any(kind.needs_right for kind in today):
            return len(today)
        return len(today) - 1 if any(kind.needs_left for kind in today) else 0

    def next_day(self, day: int) -> int | None:
        """Return the next day on which the stick is cut."""
        return min((d for d in self.days if d > day), default=None)


def sticks_of(pooled: Pooled) -> list[WeekStick]:
    """Deal every kind's pieces to the patterns chosen, in the order of the jobs."""
    return list(_as_alone(pooled) if pooled.week.fixed else _dealt(pooled))


def _as_alone(pooled: Pooled) -> Iterator[WeekStick]:
    hand = pooled.week.hand
    for one in pooled.week.alone:
        for place, stick in zip(one.places, one.filled.sticks, strict=True):
            source = hand.sources[place]
            ordered = source.stock if hand.orderable(place) else None
            cuts = tuple((kind, claim_of(one, piece)) for kind, piece in stick.cuts)
            yield WeekStick(pooled.week.material.id, source, ordered, {one.job.day: cuts})


def _dealt(pooled: Pooled) -> Iterator[WeekStick]:
    pieces, hand = pooled.week.pieces, pooled.week.hand
    waiting = [deque(claims) for claims in pieces.claims]
    for pattern in sorted(pooled.uses):
        source = hand.sources[pattern.stick]
        ordered = source.stock if hand.orderable(pattern.stick) else None
        for _ in range(pooled.uses[pattern]):
            stick = WeekStick(pooled.week.material.id, source, ordered)
            dated: dict[int, list[ClaimedCut]] = {}
            for i in pattern.pieces:
                kind, day = pieces.kinds[i]
                dated.setdefault(day, []).append((kind, waiting[i].popleft()))
            stick.days = {day: _in_order(cuts) for day, cuts in sorted(dated.items())}
            yield stick


def _in_order(cuts: Sequence[ClaimedCut]) -> tuple[ClaimedCut, ...]:
    claims: dict[int, Claim] = dict(enumerate(claim for _, claim in cuts))
    numbered = [(kind, PlacedPiece(place, "", None, 0)) for place, (kind, _) in enumerate(cuts)]
    return tuple((kind, claims[number.item]) for kind, number in in_cutting_order(numbered))


def left_unserved(pooled: Pooled) -> Iterator[tuple[Kind, Claim]]:
    """Yield the pieces that no stick is left for: the last of each kind."""
    made = [0] * len(pooled.week.pieces.kinds)
    for pattern, times in pooled.uses.items():
        for i in pattern.pieces:
            made[i] += times
    for (kind, _), claims, count in zip(pooled.week.pieces.kinds, pooled.week.pieces.claims, made, strict=True):
        yield from ((kind, claim) for claim in claims[count:])
