"""Whole numbers of the columns met: HiGHS on the columns that a plan of the cost aimed at can use.

A plan that is missed here is no proof of anything: the columns are not all there are, and staggering is a help.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ortools.math_opt import model_pb2
from ortools.math_opt.python import mathopt

from solver.laps.columns import NONE, Classes, Cut, Split, kinds_of
from solver.laps.master import DEAREST
from solver.laps.site import Site
from solver.laps.staggering import Stagger, staggered
from solver.lp.highs import searched
from solver.watch import Watch

Counts = dict[Cut | Split, int]
Row = Mapping[int, float]
"""Coefficients by number of the variable."""

ENDLESS = float("inf")
"""Stands for no limit to a row or variable."""


@dataclass(frozen=True, slots=True)
class Aim:
    """A plan that costs ``most`` or less, out of the best ``columns``, in so many ``nodes`` of search.

    One that costs ``enough`` or less ends the search.
    """

    columns: int
    most: int
    enough: int
    nodes: int
    stagger: Stagger


def whole_numbers(site: Site, classes: Classes, ranked: Sequence[Cut | Split], aim: Aim, watch: Watch) -> Counts | None:
    """Return how often to use each of the columns, ranked best first, in the cheapest plan found; None if none is."""
    return _Program(site, classes, ranked[: aim.columns], aim).solve(watch)


class _Program:
    def __init__(self, site: Site, classes: Classes, columns: Sequence[Cut | Split], aim: Aim) -> None:
        self._site, self._classes, self._columns, self._aim = site, classes, columns, aim
        self._unit = max(stick.cost for stick in site.problem.sticks) / DEAREST
        self._serving = 0
        self._rows: list[tuple[float, Row, float]] = []
        sticks = site.problem.sticks
        self._costs = [sum(sticks[k].cost * n for k, n in kinds_of(c).items()) / self._unit for c in columns]
        self._cover()
        self._slots()
        crowds = staggered(site, columns, aim.stagger)
        self._rows += ((-ENDLESS, dict.fromkeys(numbers, 1.0), most) for numbers, most in crowds)
        self._pay()

    def _cover(self) -> None:
        wanted: list[dict[int, float]] = [{} for _ in self._classes.demand]
        plain: list[dict[int, float]] = [{} for _ in self._site.plain]
        for number, column in enumerate(self._columns):
            if isinstance(column, Split):
                wanted[column.alike][number] = 1.0
            else:
                for piece, n in Counter(column.plain).items():
                    plain[piece][number] = float(n)
        demands = (self._site.problem.pieces[i].demand for i in self._site.plain)
        self._rows += [(n, row, n) for n, row in zip(self._classes.demand, wanted, strict=True)]
        self._rows += [(n, row, ENDLESS) for n, row in zip(demands, plain, strict=True)]

    def _slots(self) -> None:
        """Every slot taken is given, or a longer one of the same sticks."""
        taken: dict[tuple[int, int], dict[int, dict[int, float]]] = defaultdict(lambda: defaultdict(dict))
        for number, column in enumerate(self._columns):
            sign = 1.0 if isinstance(column, Cut) else -1.0
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
        limits = {k: s.limit for k, s in enumerate(self._site.problem.sticks) if s.limit is not None}
        for kind, limit in limits.items():
            row = {n: float(used) for n, c in enumerate(self._columns) if (used := kinds_of(c)[kind])}
            self._rows.append((-ENDLESS, row, limit))
        self._rows.append((-ENDLESS, dict(enumerate(self._costs)), self._aim.most / self._unit + 1e-7))

    def _model(self) -> mathopt.Model:
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
        model = self._model()
        settings = {"objective_target": self._aim.enough / self._unit + 1e-7, "mip_rel_gap": 0.0}
        result = searched(model, self._aim.nodes, settings, watch)
        if result is None or not result.has_primal_feasible_solution():
            return None
        values = result.variable_values(list(model.variables()))
        counts = ((column, round(value)) for column, value in zip(self._columns, values, strict=False))
        return {column: count for column, count in counts if count > 0}
