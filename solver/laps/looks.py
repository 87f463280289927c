"""How the laps of a plan look, where every rule is kept: what an installer would change if it cost nothing.

Counted are near-lines (laps of courses that may not repeat each other, nearer than ``near``), staircases (laps in four
successive courses that step the same way by steps alike) and laps close beside an opening. How evenly laps are spread
is measured as a potential that grows as they come closer, as for points that repel each other (Hardin and Saff,
"Discretizing Manifolds via Minimum Energy Points", Notices of the American Mathematical Society 51, 2004).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from solver.laps.model import LapModel, Laps, RunCandidate, broken_between, reaches
from solver.rules import STAIRCASE

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

    def beside(self, candidate: RunCandidate, laps: Sequence[int]) -> int:
        """Return how many laps of a run lie close beside an opening, or over it."""
        run = self._model.problem.runs[candidate.run]
        if not (run.keep_clear and self._beside):
            return 0
        wide = [(start - self._beside, end + self._beside) for start, end in run.keep_clear]
        kept = reaches(wide, candidate.template.allowances.lap)
        return sum(any(start < place < end for start, end in kept) for place in laps)

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
