"""Whole numbers of the columns met: SCIP on the columns that a plan of the cost aimed at can use.

Limits on how many runs of a class may be lapped near one place leave the laps to be dealt to the courses so
that they are staggered; they are a help, not a rule, so a plan that is missed here is no proof of anything.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from threading import Thread

from ortools.linear_solver import pywraplp

from solver.laps.columns import NONE, Classes, Cut, Split
from solver.laps.master import DEAREST
from solver.laps.site import Site
from solver.watch import Watch

Counts = dict[Cut | Split, int]

POLL = 0.05
"""Seconds between looks at the watch while SCIP works."""


@dataclass(frozen=True, slots=True)
class Aim:
    """A plan that costs ``most`` or less, out of the best ``columns``, in so many ``nodes`` of search.

    ``stagger``: with limits on how many runs of a class may be lapped near one place.
    """

    columns: int
    most: int
    nodes: int
    stagger: bool


def whole_numbers(site: Site, classes: Classes, ranked: Sequence[Cut | Split], aim: Aim, watch: Watch) -> Counts | None:
    """Return how often to use each of the columns, ranked best first, in the cheapest plan found; None if none is."""
    return _Program(site, classes, ranked[: aim.columns], aim).solve(aim.nodes, watch)


class _Program:
    def __init__(self, site: Site, classes: Classes, columns: Sequence[Cut | Split], aim: Aim) -> None:
        self._site, self._classes = site, classes
        self._scip = pywraplp.Solver.CreateSolver("SCIP")
        self._infinity = self._scip.infinity()
        self._counts = {column: self._scip.IntVar(0, self._infinity, "") for column in columns}
        self._cover()
        self._slots()
        if aim.stagger:
            self._stagger()
        self._pay(aim.most)

    def _cover(self) -> None:
        pieces = self._site.problem.pieces
        wanted = [self._scip.Constraint(n, n) for n in self._classes.demand]
        plain = [self._scip.Constraint(pieces[i].demand, self._infinity) for i in self._site.plain]
        for column, count in self._counts.items():
            if isinstance(column, Split):
                wanted[column.alike].SetCoefficient(count, 1)
            else:
                for piece, n in Counter(column.plain).items():
                    plain[piece].SetCoefficient(count, n)

    def _slots(self) -> None:
        """Every slot taken is given, or a longer one of the same sticks."""
        taken: dict[tuple[int, int], dict[int, list[tuple[pywraplp.Variable, int]]]] = defaultdict(
            lambda: defaultdict(list)
        )
        for column, count in self._counts.items():
            sign = 1 if isinstance(column, Cut) else -1
            if column.first != NONE:
                taken[0, column.first][column.first_cells].append((count, sign))
            if column.last != NONE:
                taken[1, column.last][column.last_cells].append((count, sign))
        for by_cells in taken.values():
            self._link(by_cells)

    def _link(self, by_cells: dict[int, list[tuple[pywraplp.Variable, int]]]) -> None:
        rows = {cells: self._scip.Constraint(0, self._infinity) for cells in sorted(by_cells)}
        for cells, slots in by_cells.items():
            for count, sign in slots:
                rows[cells].SetCoefficient(count, sign)
        for low, high in pairwise(rows):
            serve = self._scip.NumVar(0, self._infinity, "")
            rows[high].SetCoefficient(serve, -1)
            rows[low].SetCoefficient(serve, 1)

    def _stagger(self) -> None:
        splits: dict[int, list[Split]] = defaultdict(list)
        for column in self._counts:
            if isinstance(column, Split) and NONE not in (column.first, column.last):
                splits[column.alike].append(column)
        for alike, found in splits.items():
            for apart, most in crowding(self._site, alike):
                self._spread(found, apart // self._site.cell, most)

    def _spread(self, splits: Sequence[Split], apart: int, most: int) -> None:
        places = sorted({split.first_cells for split in splits})
        if places[-1] - places[0] <= apart:
            return
        for place in places:
            row = self._scip.Constraint(0, most)
            for split in splits:
                if place <= split.first_cells < place + apart:
                    row.SetCoefficient(self._counts[split], 1)

    def _pay(self, most: int) -> None:
        sticks = self._site.problem.sticks
        unit = max(stick.cost for stick in sticks) / DEAREST
        cap = self._scip.Constraint(-self._infinity, most / unit + 1e-7)
        limits = {k: self._scip.Constraint(0, s.limit) for k, s in enumerate(sticks) if s.limit is not None}
        for column, count in self._counts.items():
            kinds = Counter((column.kind,) if isinstance(column, Cut) else column.wholes)
            cost = sum(sticks[k].cost * n for k, n in kinds.items())
            self._scip.Objective().SetCoefficient(count, cost / unit)
            cap.SetCoefficient(count, cost / unit)
            for kind, n in kinds.items():
                if kind in limits:
                    limits[kind].SetCoefficient(count, n)

    def solve(self, nodes: int, watch: Watch) -> Counts | None:
        """Search so many nodes at the most."""
        self._scip.SetSolverSpecificParametersAsString(f"limits/nodes = {nodes}\n")
        status: list[int] = []
        search = Thread(target=lambda: status.append(self._scip.Solve()))
        search.start()
        while search.is_alive():
            search.join(POLL)
            if watch.stopped:
                self._scip.InterruptSolve()
        if status[0] not in {pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE}:
            return None
        counts = ((column, round(count.solution_value())) for column, count in self._counts.items())
        return {column: count for column, count in counts if count > 0}


def crowding(site: Site, alike: int) -> Iterator[tuple[int, int]]:
    """Yield (stretch in ticks, runs): no more runs of a class may be lapped within one stretch, if rules are kept."""
    rules = site.problem.rules
    courses: dict[object, list[int]] = defaultdict(list)
    for run, number in zip(site.problem.runs, site.alike, strict=True):
        if number == alike and run.wall is not None and run.course is not None:
            courses[run.wall].append(run.course)
    if courses and rules.spacing:
        yield rules.spacing, sum(_most_apart(found, 1) for found in courses.values())
    if courses and rules.in_line_within and rules.repeat:
        yield rules.in_line_within, sum(_most_apart(found, rules.repeat) for found in courses.values())


def _most_apart(courses: Iterable[int], reach: int) -> int:
    """Return how many of the courses can be chosen with more than ``reach`` from one to the next."""
    chosen, last = 0, None
    for course in sorted(courses):
        if last is None or course - last > reach:
            chosen, last = chosen + 1, course
    return chosen
