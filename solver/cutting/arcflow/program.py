"""The integer program over a part's patterns, where they are few enough to be written down.

    minimise    sum cost_k x_p
    subject to  sum a_ip x_p  = demand_i                       every piece
                least_k <= sum x_p <= most_k                   every stick
                sum cost_k x_p <= target + 1/2
                x_p whole

What makes HiGHS's answer safe: all data are whole numbers, and the half step of room in the cost row is far
above its tolerances, so that a plan at the target is not lost and none above it gets in; a plan it finds is
rounded and counted again in whole numbers; that there is none is believed only where it says so
itself, with gaps of zero, not where it ran out of nodes or time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from ortools.math_opt import model_pb2

from solver.cutting.arcflow.graph import Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.problem import Pattern, Uses
from solver.lp.lazily import mathopt
from solver.lp.mip import searched
from solver.watch import Watch

NO_GAP = {"mip_abs_gap": 0.0, "mip_rel_gap": 0.0}
"""HiGHS stops at no plan that it has not shown to be best."""

LARGEST = 2**31
"""Above this, costs are too large for tolerances of 1e-6 to tell half a step."""


class Answer(Enum):
    """What is known of a part."""

    FOUND = "a plan within the target"
    NONE = "no plan within the target"
    OPEN = "neither"


@dataclass(frozen=True, slots=True)
class Outcome:
    """An answer, and the plan if there is one."""

    answer: Answer
    uses: Uses | None = None


@dataclass(frozen=True, slots=True)
class Task:
    """A part, the patterns left in it, and what a plan may cost."""

    space: Space
    node: Node
    patterns: Sequence[Pattern]
    target: int


def solved(task: Task, nodes: int, watch: Watch) -> Outcome:
    """Look for a plan; ``nodes`` limits the search tree of HiGHS."""
    if task.target >= LARGEST:
        return Outcome(Answer.OPEN)
    model = _model(task)
    result = searched(model, nodes, NO_GAP, watch)
    return _outcome(task, model, result) if result else Outcome(Answer.OPEN)


def _model(task: Task) -> mathopt.Model:
    """Write the program down row by row; adding one coefficient after the other takes ten times as long."""
    space, counts = task.space, task.node.counts
    proto = model_pb2.ModelProto()
    held = [Counter(pattern.pieces) for pattern in task.patterns]
    costs = [space.reduced.problem.cost(pattern) for pattern in task.patterns]
    _columns(proto, [min(space.demands[i] // n for i, n in pieces.items()) for pieces in held], costs)
    pieces, sticks = len(space.demands), len(space.costs)
    entries = [(i, j, n) for j, column in enumerate(held) for i, n in column.items()]
    entries += [(pieces + pattern.stick, j, 1) for j, pattern in enumerate(task.patterns)]
    entries += [(pieces + sticks, j, cost) for j, cost in enumerate(costs)]
    endless = float("inf")
    most = [endless if limit is None else limit for limit in counts.most]
    rows, matrix = proto.linear_constraints, proto.linear_constraint_matrix
    rows.ids.extend(range(pieces + sticks + 1))
    rows.lower_bounds.extend([*space.demands, *counts.least, -endless])
    rows.upper_bounds.extend([*space.demands, *most, task.target + 0.5])
    for into, values in zip(
        (matrix.row_ids, matrix.column_ids, matrix.coefficients), zip(*sorted(entries), strict=True), strict=True
    ):
        into.extend(values)
    return mathopt.Model.from_model_proto(proto)


def _columns(proto: model_pb2.ModelProto, most: Sequence[int], costs: Sequence[int]) -> None:
    proto.variables.ids.extend(range(len(most)))
    proto.variables.lower_bounds.extend([0.0] * len(most))
    proto.variables.upper_bounds.extend(float(n) for n in most)
    proto.variables.integers.extend([True] * len(most))
    proto.objective.linear_coefficients.ids.extend(range(len(costs)))
    proto.objective.linear_coefficients.values.extend(float(cost) for cost in costs)


def _outcome(task: Task, model: mathopt.Model, result: mathopt.SolveResult) -> Outcome:
    if result.termination.reason == mathopt.TerminationReason.INFEASIBLE:
        return Outcome(Answer.NONE)
    if not result.has_primal_feasible_solution():
        return Outcome(Answer.OPEN)
    values = result.variable_values()
    uses = {p: times for p, v in zip(task.patterns, model.variables(), strict=True) if (times := round(values[v]))}
    return (
        Outcome(Answer.FOUND, uses) if holds(task.space, task.node.counts, uses, task.target) else Outcome(Answer.OPEN)
    )


def holds(space: Space, counts: Counts, uses: Uses, target: int) -> bool:
    """Whether a plan cuts every piece as often as wanted, within counts and target, counted in whole numbers."""
    made, sticks = Counter[int](), Counter[int]()
    for pattern, times in uses.items():
        sticks[pattern.stick] += times
        for i in pattern.pieces:
            made[i] += times
    cost = sum(times * space.costs[k] for k, times in sticks.items())
    limits = enumerate(zip(counts.least, counts.most, strict=True))
    within = all(sticks[k] >= low and (most is None or sticks[k] <= most) for k, (low, most) in limits)
    return cost <= target and within and all(made[i] == d for i, d in enumerate(space.demands))
