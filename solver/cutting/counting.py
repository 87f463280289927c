"""The cheapest numbers of sticks that no certificate rules out.

Any values of the pieces give a cut on the numbers ``n_k`` of sticks: together they must be worth what all
pieces are worth, ``sum ceiling_k n_k >= sum demand_i value_i`` (a Benders cut, Benders 1962, of the
pattern program projected onto the numbers of sticks). With a handful of kinds of stick the whole
numbers that satisfy all cuts at least cost are found by branch and bound on a linear program of a
handful of variables. Its float duals only weigh the cuts into one; what that one proves is whole-number
arithmetic again (``certify``).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from math import floor

from ortools.linear_solver import pywraplp

from solver.cutting.certificate import Asked, Certificate, Counts, certify
from solver.watch import Watch

FINE = 2**40
"""Parts that the weights of cuts are cut into."""

DEAR = 1000
"""What a unit of worth costs that sticks do not have: many times what it costs in sticks."""

MOST_STEPS = 1000
"""Simplex steps after which a linear program of a handful of variables must be running in circles."""

Numbers = tuple[int, ...]
"""How many sticks of each kind."""


@dataclass(frozen=True, slots=True)
class Box:
    """Numbers from ``least`` to ``most``, none of which costs less than ``bound``."""

    bound: int
    least: Numbers
    most: Numbers

    @property
    def single(self) -> bool:
        """Whether only one choice is left."""
        return self.least == self.most


class Counting:
    """Numbers of sticks under a growing list of cuts."""

    def __init__(self, costs: Sequence[int], most: Numbers) -> None:
        """``most``: how many sticks of each kind there may be."""
        self._costs = costs
        self._heap = [(0, 0, Box(0, self._free(most), most))]
        self._serial = 0
        self._given: set[Numbers] = set()
        self._cuts: list[Certificate] = []
        self._build()

    def _free(self, most: Numbers) -> Numbers:
        """Take all sticks that cost nothing: more sticks never hurt."""
        return tuple(limit if cost == 0 else 0 for limit, cost in zip(most, self._costs, strict=True))

    def add(self, cut: Certificate) -> None:
        """Rule out numbers of sticks that are worth less than all pieces."""
        self._cuts.append(cut)
        self._rows.append(self._row(cut))

    def cost(self, numbers: Numbers) -> int:
        """Return what so many sticks cost."""
        return sum(cost * n for cost, n in zip(self._costs, numbers, strict=True))

    def cheapest(self, below: int, work: int, watch: Watch) -> tuple[int, Numbers | None]:
        """Return a bound on the cost of all numbers neither ruled out nor returned before, and the cheapest of them.

        Costs from ``below`` on are of no interest. Where all cost that much, or ``work`` boxes did not
        decide, or ``watch`` stopped it, there are no numbers.
        """
        for _ in range(work):
            if not self._heap or self._heap[0][0] >= below:
                return below, None
            if watch.stopped:
                break
            bound, _, box = heappop(self._heap)
            if box.single and bound == self.cost(box.least) and self._open(box.least):
                self._given.add(box.least)
                return bound, box.least
            for part in self._parts(box):
                self._push(part, below)
        return (self._heap[0][0] if self._heap else below), None

    def _push(self, box: Box, below: int) -> None:
        bound = self.cost(box.least) if box.single else box.bound
        if bound < below and (not box.single or self._open(box.least)):
            self._serial -= 1
            heappush(self._heap, (bound, self._serial, box))

    def _parts(self, box: Box) -> Iterator[Box]:
        """Split a box at the point of its linear program: where a number is a fraction, else around the point."""
        if box.single:
            return
        better, point = self._relaxed(box)
        bound = max(box.bound, better)
        widest = max(range(len(point)), key=lambda k: (_fraction(point[k]), box.most[k] - box.least[k]))
        below = floor(point[widest] + 1e-6)
        if _fraction(point[widest]) > 1e-6:
            yield _part(box, bound, widest, (box.least[widest], below))
            yield _part(box, bound, widest, (below + 1, box.most[widest]))
            return
        numbers = tuple(round(x) for x in point)
        yield Box(bound, numbers, numbers)
        for least, most in ((below, below), (box.least[widest], below - 1), (below + 1, box.most[widest])):
            if least <= most:
                yield _part(box, bound, widest, (least, most))

    def _open(self, numbers: Numbers) -> bool:
        return numbers not in self._given and not any(_rules_out(cut, numbers) for cut in self._cuts)

    def _relaxed(self, box: Box) -> tuple[int, list[float]]:
        """Return an exact bound for a box, and the point of its linear program."""
        if not self._solved(box):
            return box.bound, [(least + most) / 2 for least, most in zip(box.least, box.most, strict=True)]
        weights = [
            int(max(0.0, row.dual_value()) * FINE) * FINE // cut.scale
            for row, cut in zip(self._rows, self._cuts, strict=True)
        ]
        weighed = list(zip(weights, self._cuts, strict=True))
        ceilings = [sum(weight * cut.ceilings[k] for weight, cut in weighed) for k in range(len(self._costs))]
        worth = sum(weight * cut.worth for weight, cut in weighed)
        certificate = certify(Asked([1], self._costs, Counts(box.least, box.most)), [worth], ceilings, FINE * FINE)
        return (certificate.bound if certificate else 0), [v.solution_value() for v in self._variables]

    def _solved(self, box: Box) -> bool:
        """Solve a box's linear program, once more from scratch where GLOP runs in circles."""
        if self._optimal(box):
            return True
        self._build()
        return self._optimal(box)

    def _optimal(self, box: Box) -> bool:
        for variable, least, most in zip(self._variables, box.least, box.most, strict=True):
            variable.SetBounds(least, most)
        return bool(self._solver.Solve() == pywraplp.Solver.OPTIMAL)

    def _build(self) -> None:
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._solver.SetSolverSpecificParametersAsString(f"max_number_of_iterations:{MOST_STEPS}")
        self._variables = [self._variable(cost) for cost in self._costs]
        self._rows = [self._row(cut) for cut in self._cuts]

    def _row(self, cut: Certificate) -> pywraplp.Constraint:
        """Write a cut in units of cost; worth that is missing may be bought dear, so that every box has weights."""
        row = self._solver.Constraint(cut.worth / cut.scale, self._solver.infinity())
        for variable, ceiling in zip(self._variables, cut.ceilings, strict=True):
            row.SetCoefficient(variable, ceiling / cut.scale)
        row.SetCoefficient(self._variable(DEAR), 1)
        return row

    def _variable(self, cost: int) -> pywraplp.Variable:
        variable = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(variable, cost)
        return variable


def _fraction(amount: float) -> float:
    return abs(amount - round(amount))


def _part(box: Box, bound: int, k: int, span: tuple[int, int]) -> Box:
    least, most = list(box.least), list(box.most)
    least[k], most[k] = span
    return Box(bound, tuple(least), tuple(most))


def _rules_out(cut: Certificate, numbers: Numbers) -> bool:
    return sum(c * n for c, n in zip(cut.ceilings, numbers, strict=True)) < cut.worth
