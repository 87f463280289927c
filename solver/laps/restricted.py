"""The restricted master in whole numbers: HiGHS on the columns that a plan of the cost aimed at can use.

A plan's cost is the bound plus the reduced costs of its columns, so columns of large reduced cost are of no use. Rows
say how many run columns with laps near one place may be taken (``crowding``), so that laps can be assigned to the
courses staggered: a help, not a rule. Those that several classes share are sought in fractions first, which takes less
than whole numbers do. A plan that is missed here is no proof of anything; the columns are not all there are, either.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ortools.math_opt import model_pb2

from solver.laps.assign import candidates_of
from solver.laps.bounds.columns import NONE, RunClasses, RunColumn, StickColumn, cost_of, kinds_of, lap_cost, lap_count
from solver.laps.bounds.master import DEAREST
from solver.laps.bounds.pricing import PriceList
from solver.laps.crowding import Column, Crowd, Crowds, Stagger, staggered
from solver.laps.model import Floats, LapModel
from solver.laps.problem import LapProblem
from solver.lp.lazily import mathopt
from solver.lp.mip import relaxed, searched
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

SEPARATIONS = 6
"""Times that the program is solved in fractions first."""

MOST_STEPS = 20_000
"""Simplex steps for each of them; of some thousand columns it takes a tenth of them."""

NOTHING = 1e-6
"""So little of a column is none."""

Counts = dict[Column, int]
Row = Mapping[int, float]
"""Coefficients by number of the variable."""

ENDLESS = float("inf")
"""Stands for no limit to a row or variable."""


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
    model: LapModel, classes: RunClasses, ranked: Sequence[Column], aim: Aim, crowds: Crowds, watch: Watch
) -> Counts | None:
    """Return how often to use each of the columns, ranked best first, in the cheapest plan found; None if none is.

    ``crowds`` are what was met in earlier ones; what is met in this one is kept there.
    """
    return _Program(model, classes, _pool(ranked), aim, crowds).solve(watch)


def _pool(ranked: Sequence[Column]) -> list[Column]:
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
        self, model: LapModel, classes: RunClasses, columns: Sequence[Column], aim: Aim, crowds: Crowds
    ) -> None:
        self._model, self._classes, self._columns, self._aim = model, classes, columns, aim
        self._crowds = crowds if aim.stagger is Stagger.ALL else None
        self._unit = max(stick.cost for stick in model.problem.sticks) / DEAREST
        self._serving = 0
        self._rows: list[tuple[float, Row, float]] = []
        self._costs = [cost_of(model, column) / self._unit for column in columns]
        self._cover()
        self._slots()
        self._rows += _limits(staggered(model, columns, aim.stagger))
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
        splits = [(number, column) for number, column in enumerate(self._columns) if isinstance(column, RunColumn)]
        for classes, least in self._classes.laps:
            laps = {number: float(lap_count(split)) for number, split in splits if split.alike in classes}
            self._rows.append((least, laps, ENDLESS))

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

    def _program(self, *, fractions: bool) -> mathopt.Model:
        """Write the program down row by row; adding one coefficient after the other takes ten times as long."""
        proto = model_pb2.ModelProto()
        rows = [*self._rows, *_limits(self._crowds.rows(self._columns) if self._crowds else ())]
        whole, count = len(self._columns), len(self._columns) + self._serving
        proto.variables.ids.extend(range(count))
        proto.variables.lower_bounds.extend([0.0] * count)
        proto.variables.upper_bounds.extend([ENDLESS] * count)
        proto.variables.integers.extend([not fractions] * whole + [False] * self._serving)
        proto.objective.linear_coefficients.ids.extend(range(whole))
        proto.objective.linear_coefficients.values.extend(self._costs)
        proto.linear_constraints.ids.extend(range(len(rows)))
        proto.linear_constraints.lower_bounds.extend(low for low, _, _ in rows)
        proto.linear_constraints.upper_bounds.extend(high for _, _, high in rows)
        for place, (_, row, _) in enumerate(rows):
            ordered = sorted(row.items())
            proto.linear_constraint_matrix.row_ids.extend([place] * len(ordered))
            proto.linear_constraint_matrix.column_ids.extend(number for number, _ in ordered)
            proto.linear_constraint_matrix.coefficients.extend(value for _, value in ordered)
        return mathopt.Model.from_model_proto(proto)

    def solve(self, watch: Watch) -> Counts | None:
        """Search as far as the aim allows."""
        self._separate(watch)
        program = self._program(fractions=False)
        settings = {"objective_target": self._aim.enough / self._unit + 1e-7, "mip_rel_gap": 0.0}
        result = searched(program, self._aim.nodes, settings, watch)
        if result is None or not result.has_primal_feasible_solution():
            return None
        counts = {column: round(amount) for column, amount in self._amounts(program, result).items()}
        if self._crowds:
            self._crowds.look(counts)
        return {column: count for column, count in counts.items() if count > 0}

    def _separate(self, watch: Watch) -> None:
        """Solve in fractions and keep what crowds there, until nothing new does."""
        for _ in range(SEPARATIONS if self._crowds else 0):
            program = self._program(fractions=True)
            result = None if watch.stopped else relaxed(program, MOST_STEPS, watch)
            if result is None or not (self._crowds and self._crowds.look(self._amounts(program, result))):
                return

    def _amounts(self, program: mathopt.Model, result: mathopt.SolveResult) -> dict[Column, float]:
        values = result.variable_values(list(program.variables()))
        return {column: value for column, value in zip(self._columns, values, strict=False) if value > NOTHING}


def _limits(crowds: Iterable[Crowd]) -> Iterator[tuple[float, Row, float]]:
    return ((-ENDLESS, dict.fromkeys(numbers, 1.0), most) for numbers, most in crowds)


def by_reduced_cost(model: LapModel, prices: PriceList, columns: Iterable[Column]) -> list[Column]:
    """Return the columns, the least reduced cost first; splits compared with the cheapest of their class."""
    first = [prices.prices.first[kinds] for kinds in model.sides[0]]
    last = [prices.prices.last[kinds] for kinds in model.sides[1]]
    net = [(column, _net(column, prices, first, last) + lap_cost(model, column)) for column in columns]
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
