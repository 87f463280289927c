"""Polishing: of plans that break as few rules, cost as little and have as few laps, one that looks better.

The plan is rearranged and pieces are exchanged; what would break more rules never is. The number of moves is counted,
and half of them fall on runs with a part in a near-line.

Looks are what an installer would change if it cost nothing, where every rule is kept. Counted are near-lines (laps of
courses that may not repeat each other, nearer than ``near``), staircases (laps in four successive courses that step the
same way by steps alike) and laps close beside an opening. How evenly laps are spread is
measured as a potential that grows as they come closer, as for points that repel each other (Hardin and Saff,
"Discretizing Manifolds via Minimum Energy Points", Notices of the American Mathematical Society 51, 2004).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from solver.laps.model import LapModel, Laps, RunCandidate, broken_between, reaches
from solver.laps.rearranging.trading import Trade, Trading
from solver.laps.state import PartialPlan
from solver.runs import STAIRCASE
from solver.watch import Watch

STAGES = ((25, (8.0, 0.15)), (200, (8.0, 0.15)), (400, (3.0, 0.15)))
"""Moves for each run, with temperatures at the first and at the last one in the units of ``Looks.worth``. The first are
few, for large plans; the last only where near-lines or staircases are left."""

MOST_MOVES = 100_000

WAITING = 0.02
"""What it counts, in the same units, that a piece lies cut while one more stretch is hung."""

LOOK_ROUND = 100
"""So many moves pass between looks at which runs have a part in a near-line; where there are more runs, as many."""


def polished(plan: PartialPlan, watch: Watch) -> PartialPlan:
    """Return the plan as good as it gets; it is never worse than it was."""
    looks = Looks(plan.model)
    for seed, (moves, warmth) in enumerate(STAGES):
        if seed + 1 < len(STAGES) or looks.lines_or_stairs(plan.laps):
            plan = Polish(plan, looks, seed).run(moves, warmth, watch)
    return plan


class Polish(Trading):
    """Betters the looks of one plan."""

    def __init__(self, partial: PartialPlan, looks: Looks, seed: int) -> None:
        self._looks = looks
        super().__init__(partial, seed, lambda run: _seen(partial, looks, run))
        self._player = list(range(len(self._parts)))
        self._in_line: list[int] = []
        self._made = 0

    def run(self, moves: int, warmth: tuple[float, float], watch: Watch) -> PartialPlan:
        """Return the plan as good as it gets by so many moves for each run; it is never worse than it was."""
        better = self._anneal(min(MOST_MOVES, moves * len(self._movable)), warmth, watch) < 0
        return self._written() if better else self._partial

    def _bad(self, runs: Sequence[int]) -> tuple[int, float]:
        """Return how many rules these runs have a part in breaking, and how bad it looks."""
        places = [place for run in runs if (place := self._looks.at[run]) is not None]
        stairs = WORTH_STAIRCASE * self._looks.staircases(places, self._laps)
        sticks = {stick for run in runs for stick in (self._part(run).first, self._part(run).last) if stick is not None}
        return (
            self._looks.broken(runs, self._laps, self._laid),
            stairs + self._looks.worth(runs, self._laps, self._laid) + WAITING * self._waiting(sticks),
        )

    def _waiting(self, sticks: Iterable[int]) -> int:
        """Return for how many turns pieces of runs lie about that are cut from these sticks."""
        return sum(self._waiting_in(self._sharing[stick]) for stick in sticks)

    def _waiting_in(self, parts: Sequence[int]) -> int:
        if len(parts) < 2:
            return 0
        hung = self._model.problem.runs
        turns = [hung[self._player[part]].turn for part in parts]
        return sum(turns) - len(turns) * min(turns)

    def _move(self, warmth: float) -> float:
        """Make one move or leave it; return how much worse it looks then."""
        if self._made % max(LOOK_ROUND, len(self._movable)) == 0:
            self._in_line = [run for run in self._movable if self._looks.near_line(self._laps, run)]
        self._made += 1
        run = self._drawn(self._in_line if self._in_line and self._dice.random() < 0.5 else self._movable)
        lot = float(self._dice.random())
        if lot < 0.4:
            return self._reach(run, warmth)
        if lot < 0.65:
            return self._exchange(run, warmth)
        if lot < 0.72:
            return self._turn(run, warmth)
        return self._shift(run, warmth) if lot < 0.8 else self._trade_any(warmth)

    def _swap(self, run: int, other: int) -> None:
        super()._swap(run, other)
        for each in (run, other):
            if (part := self._playing[each]) is not None:
                self._player[part] = each

    def _dearer(self, stick: int, trade: Trade) -> float:
        if trade.plain:
            return 0.0
        before = self._waiting((stick, trade.other))
        return WAITING * (sum(map(self._waiting_in, self._shared_after(stick, trade))) - before)


def _seen(partial: PartialPlan, looks: Looks, run: int) -> bool:
    """Whether it matters where a run's laps lie."""
    return bool(partial.laps[run] and (looks.neighbours[run] or partial.model.problem.runs[run].keep_clear))


WORTH_STAIRCASE, WORTH_NEAR, WORTH_BESIDE = 40.0, 10.0, 6.0
"""What each counts beside the spread, in which two laps at one place of adjacent courses count ``CLOSEST``."""

CLOSEST = 12.0

Place = tuple[object, int]
"""A wall and a course."""


class Looks:
    """Looks of laps in one model. A plan is given as where the laps of every run lie, and how each run is laid."""

    def __init__(self, model: LapModel) -> None:
        self._model, rules = model, model.problem.rules
        self._near, self._beside, self._longest_step = rules.near, rules.beside, rules.longest_step
        self._reach = max(stick.length for stick in model.problem.sticks) // 2
        self._within = rules.repeat
        self.at: list[Place | None] = [
            None if run.wall is None or run.course is None else (run.wall, run.course) for run in model.problem.runs
        ]
        self.runs_at: dict[Place, list[int]] = defaultdict(list)
        for run, place in enumerate(self.at):
            if place is not None:
                self.runs_at[place].append(run)
        self.neighbours = [list(self._neighbours(run)) for run in range(len(self.at))]

    def _neighbours(self, run: int) -> Iterator[tuple[int, int]]:
        """Yield the runs whose laps bear on a run's looks, with the courses between them."""
        place, rules = self.at[run], self._model.problem.rules
        if place is None or not (rules.spacing or self._within):
            return
        for courses in range(1, max(1, self._within) + 1):
            for course in (place[1] - courses, place[1] + courses):
                yield from ((other, courses) for other in self.runs_at.get((place[0], course), ()))

    def broken(self, runs: Iterable[int], laps: Laps, laid: Sequence[tuple[RunCandidate, int] | None]) -> int:
        """Return how many rules these runs have a part in breaking."""
        rules, some, count = self._model.problem.rules, set(runs), 0
        for run in some:
            at, own = laid[run], laps[run] or ()
            count += at[0].breaks(at[1]) if at else 0
            for other, courses in self.neighbours[run]:
                if not (other in some and other < run):
                    count += broken_between(rules, own, laps[other] or (), courses)
        return count

    def worth(self, runs: Iterable[int], laps: Laps, laid: Sequence[tuple[RunCandidate, int] | None]) -> float:
        """Return how bad what these runs have a part in looks, but for staircases; 0 is best."""
        some, bad = set(runs), 0.0
        for run in some:
            own = laps[run] or ()
            for other, courses in self.neighbours[run]:
                if own and not (other in some and other < run):
                    bad += self._crowding(own, laps[other] or (), courses)
            at = laid[run]
            if at is not None:
                bad += WORTH_BESIDE * self.beside(at[0], own)
        return bad

    def _crowding(self, one: Sequence[int], other: Sequence[int], courses: int) -> float:
        near, reach, counts, bad = self._near, self._reach, courses <= self._within, 0.0
        for x in one:
            for y in other:
                gap = abs(x - y)
                if gap < reach:
                    bad += CLOSEST * (near + 1) / ((gap + near + 1) * courses)
                    if gap < near and counts:
                        bad += WORTH_NEAR
        return bad

    def near_line(self, laps: Laps, run: int) -> bool:
        """Whether a run has a part in a near-line."""
        return any(
            abs(x - y) < self._near
            for other, courses in self.neighbours[run]
            if courses <= self._within
            for x in laps[run] or ()
            for y in laps[other] or ()
        )

    def beside(self, candidate: RunCandidate, laps: Sequence[int]) -> int:
        """Return how many laps of a run lie close beside an opening, or over it."""
        run = self._model.problem.runs[candidate.run]
        if not (run.keep_clear and self._beside):
            return 0
        wide = [(start - self._beside, end + self._beside) for start, end in run.keep_clear]
        kept = reaches(wide, candidate.template.allowances.lap)
        return sum(any(start < place < end for start, end in kept) for place in laps)

    def lines_or_stairs(self, laps: Laps) -> bool:
        """Whether any near-line or staircase is left."""
        return any(self.near_line(laps, run) for run in range(len(laps))) or bool(self.staircases(self.runs_at, laps))

    def staircases(self, places: Iterable[Place], laps: Laps) -> int:
        """Return how many staircases have a lap at one of these places."""
        begins = {(wall, course - n) for wall, course in places for n in range(STAIRCASE)}
        return sum(self._stairs_from(place, laps) for place in begins if place in self.runs_at)

    def _laps_at(self, place: Place, laps: Laps) -> list[int]:
        return [lap for run in self.runs_at.get(place, ()) for lap in laps[run] or ()]

    def _stairs_from(self, place: Place, laps: Laps) -> int:
        wall, course = place
        rows = [self._laps_at((wall, course + n), laps) for n in range(STAIRCASE)]
        if not all(rows):
            return 0
        ways = [(y, y - x) for x in rows[0] for y in rows[1] if 0 < abs(y - x) <= self._longest_step]
        for row in rows[2:]:
            ways = [
                (y, y - x)
                for x, step in ways
                for y in row
                if 0 < abs(y - x) <= self._longest_step and abs(y - x - step) < self._near
            ]
        return len(ways)
