"""What an installer does without a plan, under the same rules: the baseline of the benchmark of runs.

Wall by wall and course by course from the bottom, each course from the left. A course begins with the offcut that
the last course left, if it is long enough and its lap is staggered; else with another offcut from the pile, else
with a new panel, cut shorter where its lap would break a rule. Whole panels follow; the last piece comes from the
pile if one fits, else from a new panel, whose rest begins the next course. Pieces shorter than a panel are cut from
the offcut they fit best, else from a new panel. Panels are of the length that costs least a foot (of several the
longest), for a piece too long for it the shortest that does.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from solver.demand import demand_of, is_run, kind_of
from solver.job import Job
from solver.laps.model import LapModel, RunCandidate, broken_beside, model_of
from solver.laps.problem import LapStick
from solver.required import Required
from solver.walls.runs import lap_problem_of


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left of a panel, and which of its ends are as manufactured."""

    length: int
    left: bool
    right: bool


@dataclass(slots=True)
class Habit:
    """The day as it goes: panels begun, the pile of offcuts (the newest last), and where laps lie."""

    model: LapModel
    stock: tuple[LapStick, ...]
    bought: list[LapStick] = field(default_factory=list)
    pile: list[Rest] = field(default_factory=list)
    laps: list[tuple[int, ...] | None] = field(default_factory=list)
    broken: int = 0

    def cut_piece(self, length: int) -> None:
        """Cut a short piece from the offcut it fits best, or from a new panel."""
        fitting = [rest for rest in self.pile if rest.length >= length]
        rest = min(fitting, key=lambda r: r.length, default=None) or self._new_panel(length)
        if rest in self.pile:
            self.pile.remove(rest)
        self._keep(Rest(rest.length - length, left=False, right=rest.right))

    def lay(self, run: int) -> None:
        """Lay a run: the first way to begin that breaks the fewest rules."""
        ways = list(self._beginnings(run))
        candidate, rest, a = min(ways, key=lambda way: self._breaks(way[0], way[2]))
        self.broken += self._breaks(candidate, a)
        self.laps[run] = candidate.laps(a)
        if rest in self.pile:
            self.pile.remove(rest)
        else:
            self._new_panel()
        self._keep(Rest(rest.length - a, left=rest.left, right=False))
        for _ in candidate.template.wholes:
            self._new_panel()
        self._end(candidate.last(a))

    def _beginnings(self, run: int) -> Iterator[tuple[RunCandidate, Rest, int]]:
        new = Rest(self.model.problem.sticks[0].length, left=True, right=True)
        for candidate in self.model.candidates[run]:
            for rest in (*reversed(self.pile), new):
                if rest.right and candidate.low <= rest.length:
                    yield candidate, rest, min(rest.length, candidate.high)
            edges = {edge for hole in self._holes(candidate) for edge in hole}
            for a in sorted(edges, reverse=True):
                if candidate.low <= a <= candidate.high:
                    yield candidate, new, a

    def _holes(self, candidate: RunCandidate) -> Iterator[tuple[int, int]]:
        yield from candidate.holes
        apart = self.model.problem.rules.spacing
        line = self.model.problem.rules.in_line_within
        for other, courses in self.model.near[candidate.run]:
            for place in self.laps[other] or ():
                for offset in candidate.offsets:
                    needed = apart if courses == 1 else line
                    yield place - needed - offset, place + needed - offset

    def _breaks(self, candidate: RunCandidate, a: int) -> int:
        return candidate.breaks(a) + broken_beside(self.model, candidate.run, candidate.laps(a), self.laps)

    def _end(self, length: int) -> None:
        """Cut a run's last piece: from the shortest offcut with a left factory end, or a new panel."""
        fitting = [rest for rest in self.pile if rest.left and rest.length >= length]
        rest = min(fitting, key=lambda r: r.length, default=None) or self._new_panel()
        if rest in self.pile:
            self.pile.remove(rest)
        self._keep(Rest(rest.length - length, left=False, right=rest.right))

    def _new_panel(self, length: int = 0) -> Rest:
        fitting = [self.model.problem.sticks[0], *sorted(self.stock, key=lambda stick: stick.length)]
        panel = next(stick for stick in fitting if stick.length >= length)
        self.bought.append(panel)
        return Rest(panel.length, left=True, right=True)

    def _keep(self, rest: Rest) -> None:
        if rest.length > 0:
            self.pile.append(rest)


def habit(job: Job) -> tuple[int, int, int]:
    """Return the panels, the cost in cost steps and the broken rules of a house of one material."""
    material = job.materials[0]
    problem = lap_problem_of(demand_of(job, material, range(len(job.required))))
    panel = min(problem.sticks, key=lambda stick: (Fraction(stick.cost, stick.length), -stick.length))
    day = Habit(model_of(replace(problem, sticks=(panel,))), problem.sticks)
    day.laps = [None] * len(problem.runs)
    runs = {(run.item, run.course): number for number, run in enumerate(problem.runs)}
    for item, course in _as_built(job):
        required = job.required[item]
        if is_run(required, material):
            day.lay(runs[item, course])
        else:
            day.cut_piece(kind_of(required, material).takes)
    return len(day.bought), sum(stick.cost for stick in day.bought), day.broken


def _as_built(job: Job) -> list[tuple[int, int | None]]:
    """Return items and courses in the order they are put up."""

    def order(entry: tuple[int, int | None]) -> tuple[str, int, int]:
        item: Required = job.required[entry[0]]
        return item.wall or "", entry[1] or 0, item.start

    stretches = ((i, course) for i, item in enumerate(job.required) for course in item.course_numbers)
    return sorted(stretches, key=order)
