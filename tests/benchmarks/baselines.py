"""What a user would reach for instead, from general-purpose libraries, each with the instance's whole time.

- The textbook model that spells out every stick, in CP-SAT: how many of each piece come out of each stick
  (pieces that need both factory ends are not in the sets it runs on).
- Plain arc-flow (Valerio de Carvalho 1999) in HiGHS and in SCIP, from the network the outside tests use.

All run on one thread. Building the model counts; a model too large to build in that time counts as the limit.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import gcd

import highspy
import numpy as np
from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from solver.cutting import CuttingProblem, Stick
from tests.outside.network import Network, network

MOST_VARIABLES = 400_000
"""A stick-by-stick model with more is not built."""

MOST_CELLS = 4_000_000
"""Nor is an arc-flow network of more lengths times positions."""


@dataclass(frozen=True, slots=True)
class Baseline:
    """The cost it proved least, or None where it did not within the limit; ``seconds`` is then the limit."""

    cost: int | None
    seconds: float


Method = Callable[[CuttingProblem, float], int | None]


def timed(method: Method, problem: CuttingProblem, seconds: float) -> Baseline:
    """Run one method."""
    begun = time.perf_counter()
    cost = method(problem, seconds)
    took = time.perf_counter() - begun
    return Baseline(cost, took) if cost is not None and took <= seconds else Baseline(None, seconds)


def cp_sat(problem: CuttingProblem, seconds: float) -> int | None:
    """Spell out every stick; return the proven least cost or None."""
    begun, kinds = time.perf_counter(), range(len(problem.pieces))
    sticks = [(k, stick) for k, stick in enumerate(problem.sticks) for _ in range(_enough(problem, stick))]
    if len(sticks) * len(kinds) > MOST_VARIABLES:
        return None
    model = cp_model.CpModel()
    used = [model.new_bool_var("") for _ in sticks]
    cuts = [[model.new_int_var(0, piece.demand, "") for piece in problem.pieces] for _ in sticks]
    for i, piece in enumerate(problem.pieces):
        model.add(sum(cut[i] for cut in cuts) == piece.demand)
    for use, cut, (_, stick) in zip(used, cuts, sticks, strict=True):
        takes = (cut[i] * (problem.pieces[i].length + problem.kerf) for i in kinds)
        model.add(sum(takes) <= (stick.length + problem.kerf) * use)
        _keep_ends(model, problem, stick, cut)
    for (one, use), (other, next_use) in pairwise(zip(sticks, used, strict=True)):
        if one == other:
            model.add(use >= next_use)
    model.minimize(sum(use * stick.cost for use, (_, stick) in zip(used, sticks, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = max(0.01, seconds - (time.perf_counter() - begun))
    return round(solver.objective_value) if solver.solve(model) == cp_model.OPTIMAL else None


def _enough(problem: CuttingProblem, stick: Stick) -> int:
    """As many sticks of a kind as first-fit decreasing needs of it alone, or its limit."""
    rooms: list[int] = []
    for piece in sorted(problem.pieces, key=lambda p: -p.length):
        for _ in range(piece.demand if piece.length <= stick.length else 0):
            takes = piece.length + problem.kerf
            place = next((n for n, room in enumerate(rooms) if room >= takes), None)
            if place is None or piece.left or piece.right:
                rooms.append(stick.length + problem.kerf - takes)
            else:
                rooms[place] -= takes
    return len(rooms) if stick.limit is None else min(stick.limit, len(rooms))


def _keep_ends(model: cp_model.CpModel, problem: CuttingProblem, stick: Stick, cut: list[cp_model.IntVar]) -> None:
    """Let a stick give each factory end it has once."""
    for side, has in (("left", stick.left), ("right", stick.right)):
        wanted = [x for x, piece in zip(cut, problem.pieces, strict=True) if getattr(piece, side)]
        if wanted:
            model.add(sum(wanted) <= int(has))


@dataclass(frozen=True, slots=True)
class _Matrix:
    """Arc-flow as rows over arcs: bounds of every row, its terms, and what every arc costs."""

    rows: list[tuple[float, float, list[int], list[float]]]
    costs: list[float]

    @classmethod
    def of(cls, problem: CuttingProblem, deadline: float) -> _Matrix | None:
        """Return the model, or None where it is too large or ``deadline`` on the monotonic clock is past."""
        step = gcd(*(piece.length + problem.kerf for piece in problem.pieces))
        if max(stick.length for stick in problem.sticks) // step * len(problem.pieces) > MOST_CELLS:
            return None
        net = network(problem)
        return cls(_rows(net), _costs(net)) if time.monotonic() < deadline else None


def _rows(net: Network) -> list[tuple[float, float, list[int], list[float]]]:
    flows: dict[object, tuple[list[int], list[float]]] = {node: ([], []) for node in net.nodes}
    pieces: list[list[int]] = [[] for _ in net.problem.pieces]
    sticks: list[list[int]] = [[] for _ in net.problem.sticks]
    for j, arc in enumerate(net.arcs):
        for node, sign in ((arc.head, 1.0), (arc.tail, -1.0)):
            if node in flows:
                flows[node][0].append(j)
                flows[node][1].append(sign)
        if arc.piece is not None:
            pieces[arc.piece].append(j)
        if arc.stick is not None:
            sticks[arc.stick].append(j)
    rows = [(0.0, 0.0, places, signs) for places, signs in flows.values()]
    rows += [
        (float(p.demand), float(p.demand), js, [1.0] * len(js))
        for p, js in zip(net.problem.pieces, pieces, strict=True)
    ]
    limited = zip(net.problem.sticks, sticks, strict=True)
    return rows + [(0.0, float(s.limit), js, [1.0] * len(js)) for s, js in limited if s.limit is not None]


def _costs(net: Network) -> list[float]:
    return [0.0 if arc.stick is None else float(net.problem.sticks[arc.stick].cost) for arc in net.arcs]


def arc_flow_highs(problem: CuttingProblem, seconds: float) -> int | None:
    """Solve arc-flow in HiGHS; return the proven least cost or None."""
    deadline = time.monotonic() + seconds
    matrix = _Matrix.of(problem, deadline)
    if matrix is None:
        return None
    highs = highspy.Highs()  # type: ignore[no-untyped-call]
    highs.silent()
    # HiGHS refuses another number of threads than it first ran with in this process
    highs.resetGlobalScheduler(True)
    count = len(matrix.costs)
    highs.addVars(count, np.zeros(count), np.full(count, highspy.kHighsInf))
    highs.changeColsCost(count, np.arange(count, dtype=np.int32), np.array(matrix.costs))
    highs.changeColsIntegrality(count, np.arange(count, dtype=np.int32), np.full(count, highspy.HighsVarType.kInteger))
    for low, high, places, signs in matrix.rows:
        highs.addRow(low, high, len(places), np.array(places, np.int32), np.array(signs))
    for option, value in (("mip_rel_gap", 0.0), ("mip_abs_gap", 0.99), ("threads", 1)):
        highs.setOptionValue(option, value)
    highs.setOptionValue("time_limit", max(0.01, deadline - time.monotonic()))
    highs.run()
    solved = highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(highs.getInfo().objective_function_value) if solved else None


def arc_flow_scip(problem: CuttingProblem, seconds: float) -> int | None:
    """Solve arc-flow in SCIP; return the proven least cost or None."""
    deadline = time.monotonic() + seconds
    matrix = _Matrix.of(problem, deadline)
    if matrix is None:
        return None
    scip = pywraplp.Solver.CreateSolver("SCIP")
    flows = [scip.IntVar(0, scip.infinity(), "") for _ in matrix.costs]
    for flow, cost in zip(flows, matrix.costs, strict=True):
        scip.Objective().SetCoefficient(flow, cost)
    for low, high, places, signs in matrix.rows:
        row = scip.Constraint(low, high)
        for j, sign in zip(places, signs, strict=True):
            row.SetCoefficient(flows[j], sign)
    scip.SetSolverSpecificParametersAsString("limits/gap = 0\nlimits/absgap = 0.99")
    scip.SetTimeLimit(max(1, int(1000 * (deadline - time.monotonic()))))
    return round(scip.Objective().Value()) if scip.Solve() == pywraplp.Solver.OPTIMAL else None


METHODS: dict[str, Method] = {
    "stick by stick, CP-SAT": cp_sat,
    "arc-flow, HiGHS": arc_flow_highs,
    "arc-flow, SCIP": arc_flow_scip,
}
"""What runs side by side with the engine."""
