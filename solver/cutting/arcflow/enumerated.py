"""Patterns written out where they are few: their linear program, zero-half cuts, and what these leave.

Zero-half cuts hold for every whole plan, and fractions of patterns often break them. Let ``S`` be kinds of pieces
that are wanted an odd number of times all together. Sticks that hold an even number of them can't add up to that, so
in every plan some stick holds an odd number:

    sum { x_p : p holds an odd number of pieces of S } >= 1.

With each piece cut exactly as often as wanted, these are the Chvatal-Gomory cuts with multipliers of a half
(Caprara and Fischetti 1996); for three kinds wanted once each, subset-row cuts (Jepsen, Petersen,
Spoorendonk and Pisinger 2008). All sets of up to three kinds are looked at together: with signs ``-1`` where
a pattern holds an odd number of a kind and ``+1`` elsewhere, the signs of a set are the product of its kinds'.

The linear program has a row for each of them::

    minimise    sum cost_k x_p
    subject to  sum a_ip x_p  = demand_i                                 every piece
                least_k <= sum x_p <= most_k                             every stick
                sum { x_p : p holds an odd number of S } >= 1            every odd set S
                x_p >= 0

One GLOP, whose basis survives new rows; patterns left out are held at 0. What a row lacks or has too much is
dear. Its numbers are floats: they choose, they never prove.

``tightened`` leaves fewer patterns to the integer program: cuts raise the linear program, and what is then too dear
goes. The patterns of a part are written down already, so a cut is one more row over them, and its dual one more
thing that a pattern collects. Cuts and fixing by reduced cost (as over enumerated columns in Baldacci,
Christofides and Mingozzi 2008) take turns while that narrows the gap. What the duals prove is
worked out in whole numbers as in ``fixing``: a cut worth ``w_S`` adds ``w_S`` to each pattern that it
counts, and takes ``w_S`` off the gap, because a plan has at least one of them.

The integer program over the patterns that are left settles the part::

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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from math import inf

import numpy as np
from numpy.typing import NDArray
from ortools.math_opt import model_pb2

from solver.cutting.arcflow.fixing import NEVER, Question, Worth, fair
from solver.cutting.arcflow.graph import Node, Space
from solver.cutting.arcflow.master import FINEST, LEAST
from solver.cutting.bounds import Counts
from solver.cutting.pricing.protocol import MOST_VALUE, IntVector
from solver.cutting.problem import Pattern, Uses
from solver.lp.glop import LinearProgram, Row
from solver.lp.lazily import mathopt
from solver.lp.mip import searched
from solver.watch import Watch

BROKEN = 0.01
"""What a cut must lack at least to be worth a row."""

MOST_WORK = 100_000_000
"""Multiplications that one search for sets may take; with more kinds, fewer triples are looked at."""

ZeroHalfSet = tuple[int, ...]
"""Kinds of pieces, ascending."""
DEAR = 10
"""What a row costs for each that it lacks or has too many, in times the cost of the dearest stick."""
Floats = NDArray[np.float64]
CUTS = 30
"""Cuts added in a round."""
IDLE = 3
"""Rounds that may go by without narrowing the gap."""
NARROWER = 0.98
"""A gap of this part of the least so far counts as narrower."""


def zero_half_sets(
    held: IntVector, amounts: NDArray[np.float64], demands: Sequence[int], most: int
) -> list[ZeroHalfSet]:
    """Return the sets whose cuts are broken most, at most so many.

    ``held[i, p]`` (pieces, patterns): how many of piece ``i`` a pattern holds; ``amounts[p]``: how often it is cut;
    ``demands[i]``: how often the piece is wanted.
    """
    used = amounts > LEAST
    parity = held[:, used] % 2
    signs = np.vstack([np.ones((2, parity.shape[1])), 1.0 - 2.0 * parity])
    odd = np.concatenate([np.zeros(2, np.int64), np.array(demands, np.int64) % 2])
    broken = dict(_broken(signs, amounts[used], odd))
    return sorted(broken, key=lambda kinds: (broken[kinds], kinds))[:most]


def _broken(
    signs: NDArray[np.float64], amounts: NDArray[np.float64], odd: IntVector
) -> Iterator[tuple[ZeroHalfSet, float]]:
    """Yield sets with what their cuts come to; the first two rows stand for no kind, so that sets may be smaller."""
    total, rows = float(amounts.sum()), len(signs)
    step = max(1, -(-rows * rows * signs.size // MOST_WORK))
    for i in (0, *range(1, rows - 2, step)):
        rest = signs[i + 1 :]
        sums = (total - (rest * (signs[i] * amounts)) @ rest.T) / 2
        wanted = (odd[i] + odd[i + 1 :, None] + odd[None, i + 1 :]) % 2 == 1
        for j, k in np.argwhere(np.triu(wanted & (sums < 1 - BROKEN), 1)).tolist():
            yield tuple(row - 2 for row in (i, i + 1 + j, i + 1 + k) if row > 1), float(sums[j, k])


@dataclass(frozen=True, slots=True)
class Point:
    """How often each pattern left is cut, what pieces and cuts are worth, what sticks are charged beside their cost.

    One entry each: ``amounts`` a pattern left, ``pieces`` a piece, ``charges`` a stick, ``cuts`` a row of ``odd``.
    """

    amounts: Floats
    pieces: Floats
    charges: Floats
    cuts: Floats


class Enumerated:
    """Patterns left: their ``sticks``, ``held[i, p]`` of each piece, and ``odd[S, p]``, 1 where a cut counts them."""

    def __init__(self, space: Space, counts: Counts, patterns: Sequence[Pattern]) -> None:
        """Start with all patterns, and no cuts."""
        self._all = patterns
        self._left = np.arange(len(patterns))
        self._cuts: dict[ZeroHalfSet, Row] = {}
        self.held = np.zeros((len(space.demands), len(patterns)), np.int64)
        for p, pattern in enumerate(patterns):
            np.add.at(self.held[:, p], list(pattern.pieces), 1)
        self.odd = np.zeros((0, len(patterns)), np.int64)
        self.sticks = np.array([pattern.stick for pattern in patterns], np.int64)
        self._write(space, counts)

    def _write(self, space: Space, counts: Counts) -> None:
        self._program = LinearProgram()
        self._pieces = [self._program.row(demand, demand) for demand in space.demands]
        most = (inf if limit is None else limit for limit in counts.most)
        self._sticks = [self._program.row(low, high) for low, high in zip(counts.least, most, strict=True)]
        self._dear = DEAR * max(1, *space.costs[: space.reduced.priced])
        self._columns = [self._program.column(space.costs[k]) for k in self.sticks.tolist()]
        for column, pattern in zip(self._columns, self._all, strict=True):
            self._sticks[pattern.stick].SetCoefficient(column, 1)
        for i, p in np.argwhere(self.held).tolist():
            self._pieces[i].SetCoefficient(self._columns[p], int(self.held[i, p]))
        for row in self._pieces:
            row.SetCoefficient(self._program.column(self._dear), 1)
            row.SetCoefficient(self._program.column(self._dear), -1)

    @property
    def patterns(self) -> Sequence[Pattern]:
        """The patterns left."""
        return [self._all[p] for p in self._left.tolist()]

    def keep(self, good: NDArray[np.bool_]) -> None:
        """Leave out the patterns left that are not marked; ``good`` has an entry for each."""
        for p in self._left[~good].tolist():
            self._columns[p].SetUb(0.0)
        self._left, self.sticks = self._left[good], self.sticks[good]
        self.held, self.odd = self.held[:, good], self.odd[:, good]

    def cut(self, sets: Sequence[ZeroHalfSet]) -> int:
        """Add those cuts that are new, and return how many were."""
        fresh = [kinds for kinds in sets if kinds not in self._cuts]
        for kinds in fresh:
            odd = self.held[list(kinds)].sum(axis=0) % 2
            row = self._cuts[kinds] = self._program.row(1)
            row.SetCoefficient(self._program.column(self._dear), 1)
            for p in self._left[odd == 1].tolist():
                row.SetCoefficient(self._columns[p], 1)
            self.odd = np.vstack([self.odd, odd])
        return len(fresh)

    def solve(self, watch: Watch) -> Point | None:
        """Return the best point, or None if stopped or GLOP fails."""
        if not self._program.optimal(watch):
            return None
        found = self._program.solution()
        amounts, duals = np.array(found.variable_value[: len(self._all)]), np.array(found.dual_value)
        pieces, sticks, cuts = np.split(duals, [len(self._pieces), len(self._pieces) + len(self._sticks)])
        return Point(amounts[self._left], pieces, -sticks, np.maximum(0.0, cuts))


def tightened(task: Task, watch: Watch) -> Task | None:
    """Return the task with fewer patterns, but all that a plan within its target may hold; None if there is no plan."""
    program, least, idle = Enumerated(task.space, task.node.counts, task.patterns), float("inf"), 0
    while idle < IDLE and (point := program.solve(watch)) is not None:
        proven = _proven(task, program, point)
        if proven is None:
            break
        if proven.gap < 0:
            return None
        good = proven.reduced <= proven.gap
        program.keep(good)
        idle = 0 if proven.gap < NARROWER * least * proven.scale else idle + 1
        least = min(least, proven.gap / proven.scale)
        if not program.cut(zero_half_sets(program.held, point.amounts[good], task.space.demands, CUTS)):
            break
    return replace(task, patterns=program.patterns) if program.patterns else None


@dataclass(frozen=True, slots=True)
class _Proven:
    """The gap and the reduced cost of every pattern left (one entry each), in parts of ``scale``."""

    scale: int
    gap: int
    reduced: IntVector


def _proven(task: Task, program: Enumerated, point: Point) -> _Proven | None:
    """Return what the duals prove of the patterns left; None where they prove nothing."""
    space, scale = task.space, _scale(task, point)
    values, cuts = (np.floor(duals * scale).astype(np.int64) for duals in (point.pieces, point.cuts))
    collected = values @ program.held + cuts @ program.odd
    best = [int(collected[program.sticks == k].max(initial=NEVER)) for k in range(len(space.costs))]
    worth = Worth(scale, values, tuple(int(charge * scale) for charge in point.charges), {})
    proven = fair(Question(space.demands, space.costs, task.node.counts, {}, task.target), worth, best)
    if proven.gap is None:
        return None
    reduced = np.array(proven.prices, np.int64)[program.sticks] - collected
    return _Proven(scale, proven.gap - int(cuts.sum()), reduced)


def _scale(task: Task, point: Point) -> int:
    """Return parts as fine as sums in 64 bits allow."""
    most_held = max((len(pattern.pieces) for pattern in task.patterns), default=0)
    most = max(1, *task.space.costs, float(np.abs(point.pieces).max()) * most_held, float(point.cuts.sum()))
    return max(1, min(FINEST, int(MOST_VALUE / (4 * most))))


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
