"""The restricted master in whole numbers: HiGHS on the columns that a plan of the cost aimed at can use.

A plan's cost is the bound plus the reduced costs of its columns, so columns of large reduced cost are of no use. Rows
say how many run columns with laps near one place may be taken, so that laps can be assigned to the courses staggered:
a help, not a rule. Stretches begin at multiples of a small part of a rule's distance, and of runs unlike each other
only those count that have none of their kind, and of their laps only the outer ones. So a plan that is missed here is
no proof of anything; the columns are not all there are, either.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import groupby, pairwise

from ortools.math_opt import model_pb2

from solver.laps.assign import candidates_of
from solver.laps.bounds.columns import NONE, RunClasses, RunColumn, StickColumn, kinds_of
from solver.laps.bounds.master import DEAREST
from solver.laps.bounds.pricing import PriceList
from solver.laps.model import Floats, LapModel, distances
from solver.laps.problem import LapProblem
from solver.lp.lazily import mathopt
from solver.lp.mip import searched
from solver.watch import Watch

POOL = 2400
"""How many columns a whole plan is looked for in."""

OF_EACH = 150
"""Beside them so many cuts of each kind of stick, and splits with whole sticks of the same kinds.

A kind that costs a little more for its length is in no good column, but a few of it fill up where a dear stick is too
much.
"""

NODES = 30
"""Nodes that HiGHS may search for a whole plan: counted, for time would make plans differ."""

ROOM = 5
"""The first plan sought where costs lie close together may cost so many of the dearest stick more than the bound."""

SOON = 20
"""The search for it ends with one that costs a SOONth of the dearest stick more than the bound."""

PARTS = 48
"""Stretches begin at multiples of a rule's distance over this."""

Counts = dict[StickColumn | RunColumn, int]
Row = Mapping[int, float]
"""Coefficients by number of the variable."""

ENDLESS = float("inf")
"""Stands for no limit to a row or variable."""
Crowd = tuple[list[int], int]
"""Numbers of columns, and how many of them may be taken together."""
Places = list[tuple[int, int]]
"""A lap's place in ticks and the number of its column."""
Column = StickColumn | RunColumn


class Stagger(Enum):
    """Between which runs crowding is looked at: fewer where rules can't be kept everywhere, so all are tried."""

    ALL = "runs alike, and those unlike each other"
    ALIKE = "runs alike"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Aim:
    """A plan that costs ``most`` or less, in so many ``nodes`` of search; one that costs ``enough`` or less ends it.

    The price of laps is part of both. No more sticks are used than ``sticks`` says for each kind, where it does.
    """

    most: int
    enough: int
    stagger: Stagger
    nodes: int = NODES
    sticks: tuple[int, ...] | None = None


def aims(least: int, below: int, dearest: int, *, apart: bool, first: bool) -> Iterator[Aim]:
    """Yield what to look for in turn, up to ``below``: at the ``least`` where costs are far apart, else what is cheap.

    ``dearest`` is what the dearest stick costs. Each comes first so that laps can best be staggered.
    """
    costs = {(least, least): None, (below, least): None} if apart else {(below, least): None}
    if first and not apart:
        costs = {(least + ROOM * dearest, least + dearest // SOON): None}
    yield from (Aim(most, enough, stagger) for most, enough in costs for stagger in Stagger)


def aims_of(problem: LapProblem, sticks: tuple[int, ...] | None, laps: int) -> Iterator[Aim]:
    """Yield what to look for where no more than these sticks are to be used and about so many ``laps``."""
    if sticks is not None:
        cost = sum(stick.cost * n for stick, n in zip(problem.sticks, sticks, strict=True))
        cost += problem.rules.lap_price * laps
        yield from (Aim(cost, cost, stagger, sticks=sticks) for stagger in Stagger)


def restricted_master(
    model: LapModel, classes: RunClasses, ranked: Sequence[StickColumn | RunColumn], aim: Aim, watch: Watch
) -> Counts | None:
    """Return how often to use each of the columns, ranked best first, in the cheapest plan found; None if none is."""
    return _Program(model, classes, _pool(ranked), aim).solve(watch)


def _pool(ranked: Sequence[StickColumn | RunColumn]) -> list[StickColumn | RunColumn]:
    """Return the best of the columns, and the best of those that take other kinds of sticks."""
    pool = list(ranked[:POOL])
    counts: Counter[tuple[bool, frozenset[int]]] = Counter()
    for place, column in enumerate(ranked):
        key = isinstance(column, StickColumn), frozenset(kinds_of(column))
        counts[key] += 1
        if place >= POOL and counts[key] <= OF_EACH:
            pool.append(column)
    return pool


class _Program:
    def __init__(
        self, model: LapModel, classes: RunClasses, columns: Sequence[StickColumn | RunColumn], aim: Aim
    ) -> None:
        self._model, self._classes, self._columns, self._aim = model, classes, columns, aim
        self._unit = max(stick.cost for stick in model.problem.sticks) / DEAREST
        self._serving = 0
        self._rows: list[tuple[float, Row, float]] = []
        self._costs = [_cost(model, column) / self._unit for column in columns]
        self._cover()
        self._slots()
        crowds = staggered(model, columns, aim.stagger)
        self._rows += ((-ENDLESS, dict.fromkeys(numbers, 1.0), most) for numbers, most in crowds)
        self._pay()

    def _cover(self) -> None:
        wanted: list[dict[int, float]] = [{} for _ in self._classes.demand]
        plain: list[dict[int, float]] = [{} for _ in self._model.plain]
        for number, column in enumerate(self._columns):
            if isinstance(column, RunColumn):
                wanted[column.alike][number] = 1.0
            else:
                for piece, n in Counter(column.plain).items():
                    plain[piece][number] = float(n)
        demands = (self._model.problem.pieces[i].demand for i in self._model.plain)
        self._rows += [(n, row, n) for n, row in zip(self._classes.demand, wanted, strict=True)]
        self._rows += [(n, row, ENDLESS) for n, row in zip(demands, plain, strict=True)]

    def _slots(self) -> None:
        """Every slot taken is given, or a longer one of the same sticks."""
        taken: dict[tuple[int, int], dict[int, dict[int, float]]] = defaultdict(lambda: defaultdict(dict))
        for number, column in enumerate(self._columns):
            sign = 1.0 if isinstance(column, StickColumn) else -1.0
            if column.first != NONE:
                taken[0, column.first][column.first_cells][number] = sign
            if column.last != NONE:
                taken[1, column.last][column.last_cells][number] = sign
        for by_cells in taken.values():
            self._link(by_cells)

    def _link(self, by_cells: dict[int, dict[int, float]]) -> None:
        for low, high in pairwise(sorted(by_cells)):
            serve = len(self._columns) + self._serving
            self._serving += 1
            by_cells[high][serve], by_cells[low][serve] = -1.0, 1.0
        self._rows += [(0.0, row, ENDLESS) for row in by_cells.values()]

    def _pay(self) -> None:
        own = [stick.limit for stick in self._model.problem.sticks] if self._aim.sticks is None else self._aim.sticks
        limits = {k: limit for k, limit in enumerate(own) if limit is not None}
        for kind, limit in limits.items():
            row = {n: float(used) for n, c in enumerate(self._columns) if (used := kinds_of(c)[kind])}
            self._rows.append((-ENDLESS, row, limit))
        self._rows.append((-ENDLESS, dict(enumerate(self._costs)), self._aim.most / self._unit + 1e-7))

    def _program(self) -> mathopt.Model:
        """Write the program down row by row; adding one coefficient after the other takes ten times as long."""
        proto = model_pb2.ModelProto()
        whole, count = len(self._columns), len(self._columns) + self._serving
        proto.variables.ids.extend(range(count))
        proto.variables.lower_bounds.extend([0.0] * count)
        proto.variables.upper_bounds.extend([ENDLESS] * count)
        proto.variables.integers.extend([True] * whole + [False] * self._serving)
        proto.objective.linear_coefficients.ids.extend(range(whole))
        proto.objective.linear_coefficients.values.extend(self._costs)
        proto.linear_constraints.ids.extend(range(len(self._rows)))
        proto.linear_constraints.lower_bounds.extend(low for low, _, _ in self._rows)
        proto.linear_constraints.upper_bounds.extend(high for _, _, high in self._rows)
        for place, (_, row, _) in enumerate(self._rows):
            ordered = sorted(row.items())
            proto.linear_constraint_matrix.row_ids.extend([place] * len(ordered))
            proto.linear_constraint_matrix.column_ids.extend(number for number, _ in ordered)
            proto.linear_constraint_matrix.coefficients.extend(value for _, value in ordered)
        return mathopt.Model.from_model_proto(proto)

    def solve(self, watch: Watch) -> Counts | None:
        """Search as far as the aim allows."""
        program = self._program()
        settings = {"objective_target": self._aim.enough / self._unit + 1e-7, "mip_rel_gap": 0.0}
        result = searched(program, self._aim.nodes, settings, watch)
        if result is None or not result.has_primal_feasible_solution():
            return None
        values = result.variable_values(list(program.variables()))
        counts = ((column, round(value)) for column, value in zip(self._columns, values, strict=False))
        return {column: count for column, count in counts if count > 0}


def _cost(model: LapModel, column: Column) -> int:
    sticks = sum(model.problem.sticks[kind].cost * n for kind, n in kinds_of(column).items())
    return sticks + _lap_cost(model, column)


def _lap_cost(model: LapModel, column: Column) -> int:
    """Return the price of a run's laps; cuts of sticks, and pieces that need a factory end, have none."""
    if isinstance(column, StickColumn):
        return 0
    parts = len(column.wholes) + (column.first != NONE) + (column.last != NONE)
    return model.problem.rules.lap_price * max(0, parts - 1)


def staggered(model: LapModel, columns: Sequence[StickColumn | RunColumn], stagger: Stagger) -> Iterator[Crowd]:
    """Yield which of the columns crowd each other, and how many of them may be taken."""
    if stagger is Stagger.NONE:
        return
    splits: dict[int, list[tuple[RunColumn, int]]] = defaultdict(list)
    for number, column in enumerate(columns):
        if isinstance(column, RunColumn) and column.alike < len(model.alike):
            splits[column.alike].append((column, number))
    count = Counter(model.alike)
    for alike, found in splits.items():
        places = [(split.first_cells * model.cell, n) for split, n in found if NONE not in (split.first, split.last)]
        for apart, most in crowding(model, alike):
            # Even one column alone crowds itself: it may be taken for several runs.
            yield from _crowds(places, apart, most) if most < count[alike] else ()
    if stagger is Stagger.ALL:
        yield from _unlike(model, splits)


def _unlike(model: LapModel, splits: dict[int, list[tuple[RunColumn, int]]]) -> Iterator[Crowd]:
    """Yield crowds of two neighbours unlike each other and all others."""
    count = Counter(model.alike)
    alone = {run: _outer(model, run, splits[alike]) for run, alike in enumerate(model.alike) if count[alike] == 1}
    for run, places in alone.items():
        for other, courses in model.near[run]:
            if other > run and other in alone:
                for apart in distances(model.problem.rules, courses)[:1]:
                    crowds = _crowds([*places, *alone[other]], apart, 1)
                    yield from ((numbers, most) for numbers, most in crowds if len(numbers) > most)


def _outer(model: LapModel, run: int, splits: Iterable[tuple[RunColumn, int]]) -> Places:
    """Return where the splits of a run have their first and last lap."""
    places: Places = []
    for split, number in splits:
        laid = next(candidates_of(model, run, split), None)
        if laid is not None:
            laps = laid[0].laps(laid[1])
            places += [(place, number) for place in {*laps[:1], *laps[-1:]}]
    return places


def _crowds(places: Places, apart: int, most: int) -> Iterator[Crowd]:
    """Yield the columns with a lap in each stretch of the length ``apart``, but for those that others hold as well."""
    step, parts = max(1, apart // PARTS), min(PARTS, apart)
    held: dict[int, dict[int, None]] = defaultdict(dict)
    for place, number in places:
        for start in range(place // step - parts + 1, place // step + 1):
            held[start][number] = None
    crowds = [crowd for crowd, _ in groupby(held[start].keys() for start in sorted(held))]
    for before, crowd, after in zip([set(), *crowds], crowds, [*crowds[1:], set()], strict=False):
        if not (crowd <= before or crowd <= after):
            yield list(crowd), most


def crowding(model: LapModel, alike: int) -> Iterator[tuple[int, int]]:
    """Yield (stretch in ticks, runs): no more runs of a class may be lapped within one stretch, if rules are kept."""
    rules = model.problem.rules
    courses: dict[object, list[int]] = defaultdict(list)
    for run, number in zip(model.problem.runs, model.alike, strict=True):
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


def by_reduced_cost(model: LapModel, prices: PriceList, columns: Iterable[Column]) -> list[Column]:
    """Return the columns, the least reduced cost first; splits compared with the cheapest of their class."""
    first = [prices.prices.first[kinds] for kinds in model.sides[0]]
    last = [prices.prices.last[kinds] for kinds in model.sides[1]]
    net = [(column, _net(column, prices, first, last) + _lap_cost(model, column)) for column in columns]
    least: dict[int, float] = {}
    for column, cost in net:
        if isinstance(column, RunColumn):
            least[column.alike] = min(least.get(column.alike, cost), cost)
    reduced = ((cost - least[c.alike] if isinstance(c, RunColumn) else cost, n, c) for n, (c, cost) in enumerate(net))
    return [c for _, _, c in sorted(reduced, key=lambda entry: entry[:2]) if _can_be_laid(model, c)]


def _can_be_laid(model: LapModel, column: Column) -> bool:
    """Whether a split is one of whole ticks within its run's range, which bounds may overstep to the next cell."""
    if isinstance(column, StickColumn) or column.alike not in model.alike:
        return True
    return any(True for _ in candidates_of(model, model.alike.index(column.alike), column))


def _net(column: Column, prices: PriceList, first: Sequence[Floats], last: Sequence[Floats]) -> float:
    slots = 0.0 if column.first == NONE else float(first[column.first][column.first_cells])
    slots += 0.0 if column.last == NONE else float(last[column.last][column.last_cells])
    if isinstance(column, RunColumn):
        return sum(prices.cost[k] for k in column.wholes) + slots
    return prices.cost[column.kind] - slots - sum(float(prices.prices.plain[p]) for p in column.plain)
