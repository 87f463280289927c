"""How a material's laps look, and how many of its pieces lie about: counted, and pieces exchanged for fewer.

A stick is cut when the first of its pieces is hung, and the others wait. What is kept least is for how many stretches
they all wait together. Two pieces that need no factory end change places where both sticks hold them then and no less
is kept of what is left. It goes on until no exchange betters anything; the number of those looked at is counted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import combinations, pairwise

from solver.demand import Demand, Kind, Source
from solver.job import Job, turns_of
from solver.plan import MaterialPlan
from solver.runs import BESIDE_OPENING, LONGEST_STEP, NEAR_LINE, STAIRCASE, Looks, Run
from solver.sticks import PlacedPiece

Rows = dict[tuple[str, int], list[int]]
"""Where laps lie, by wall and course."""


def looks_of(job: Job, part: MaterialPlan) -> Looks | None:
    """Return what is counted; None where nothing of the material is for a wall."""
    if not any(item.wall for item in job.required if item.material == part.material):
        return None
    rows: Rows = defaultdict(list)
    for run in part.runs:
        if run.wall is not None and run.course is not None:
            rows[run.wall, run.course] += run.laps_at
    within = part.settings.lap_repeat or 0
    put_aside, for_others = pieces_aside(job, (stick.pieces for _, stick in part.sticks()))
    return Looks(
        laps=sum(len(run.laps_at) for run in part.runs),
        near_lines=_near_lines(rows, within),
        staircases=sum(_staircases(rows, place) for place in tuple(rows)),
        beside_openings=sum(_beside(job, run) for run in part.runs),
        put_aside=put_aside,
        for_other_walls=for_others,
    )


def _near_lines(rows: Rows, within: int) -> int:
    return sum(
        abs(lap - below) < NEAR_LINE
        for (wall, course), laps in rows.items()
        for courses in range(1, min(within, course) + 1)
        for below in rows.get((wall, course - courses), ())
        for lap in laps
    )


def _staircases(rows: Rows, place: tuple[str, int]) -> int:
    wall, course = place
    ways: list[tuple[int, ...]] = [(lap,) for lap in rows[place]]
    for above in range(course + 1, course + STAIRCASE):
        ways = [(*way, lap) for way in ways for lap in rows.get((wall, above), ()) if _goes_on(way, lap)]
    return len(ways)


def _goes_on(way: Sequence[int], lap: int) -> bool:
    """Whether a lap continues a staircase."""
    step = lap - way[-1]
    alike = len(way) < 2 or abs(step - (way[-1] - way[-2])) < NEAR_LINE
    return 0 < abs(step) <= LONGEST_STEP and alike and all((b - a > 0) == (step > 0) for a, b in pairwise(way))


def _beside(job: Job, run: Run) -> int:
    """Return how many laps of a run lie close beside an opening that its course passes, or over it."""
    kept = [
        (clear.start - BESIDE_OPENING, clear.end + BESIDE_OPENING)
        for clear in job.required[run.item].keep_clear
        if run.course is None or clear.first <= run.course <= clear.last
    ]
    spans = ((min(place, place + run.lap), max(place, place + run.lap)) for place in run.laps_at)
    return sum(any(low < end and start < high for start, end in kept) for low, high in spans)


def pieces_aside(job: Job, sticks: Iterable[Sequence[PlacedPiece]]) -> tuple[int, int]:
    """Return the most pieces that lie cut and not yet hung, and how many are cut on one wall and hung on another."""
    turns = turns_of(job)
    changes: dict[int, int] = defaultdict(int)
    for_others = 0
    for pieces in sticks:
        first, *later = sorted((turns[piece.item, piece.course], piece.item) for piece in pieces)
        for turn, item in later:
            changes[first[0]] += 1
            changes[turn] -= 1
            for_others += job.required[item].wall != job.required[first[1]].wall
    waiting = most = 0
    for _, change in sorted(changes.items()):
        waiting += change
        most = max(most, waiting)
    return most, for_others


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
