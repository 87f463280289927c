"""The programs over a pool: the linear relaxation, and the integer program for all patterns or a handful at a time.

``relax`` bounds one total, and says how far each column is from being in a best plan. Columns are brought into the
linear program a batch at a time, those of least reduced cost first ("sifting", Bixby, Gregory, Lustig, Marsten and
Shanno 1992), because a pool has many more columns than rows. All in floating point: it only ever steers the tidy-up,
no cost or bound rests on it.

``arrange``: the least of one total is sought, the others within their caps, demand met exactly. Counting patterns
takes a yes-or-no variable per column, ``x <= most * y`` (Vanderbeck 2000 starts from the same model); ``reach`` says
how small ``most`` may be. SCIP searches a counted number of nodes from the plan it is given.

``recombine`` replaces a handful of the patterns in use by fewer that cut the same. KOMBI (Foerster and Waescher 2000)
replaces two patterns by one, three by two and four by three. Here a group of a dozen that have pieces in common is
given to the integer program, with all columns of the pool that fit what the group cuts; so any number may become any
smaller number.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import gcd, inf

import numpy as np
from numpy.typing import NDArray

from solver.cutting.tidying.pool import Aim, IntMatrix, Pool, go_on
from solver.lp.glop import NEARLY, LinearProgram
from solver.lp.glop import Column as Variable
from solver.lp.mip import Column, IntegerProgram
from solver.watch import Watch

Floats = NDArray[np.float64]

BATCH = 60
"""Columns brought in at a time."""

SLACK = 1e-7
"""Reduced costs above minus this, relative to the largest coefficient, count as 0."""

LOOSE = 1e-6
"""How much a scaled cap is let out, so that the plan in hand, which may just meet it, stays inside."""
GROUP = 12
"""Patterns taken together."""
TURNS = 15
"""Groups tried."""
PATIENCE = 5
"""Groups in a row that may bring nothing."""
COLUMNS = 60
"""Columns in one group's program, at most."""
WORK = 1_000
"""Nodes times columns in one group's program."""


@dataclass(frozen=True, slots=True)
class Bounded:
    """``bound`` on the total, rounded down to be safe, and the reduced cost of every column of the pool.

    Where GLOP gave up both are 0, which says nothing and is never wrong.
    """

    bound: float
    reduced: Floats


@dataclass(frozen=True, slots=True)
class RowDuals:
    """What one more piece, limited stick or unit of a cap would change the least total by, one entry each."""

    bound: float
    pieces: Floats
    limits: Floats
    caps: Floats


class Relaxation:
    """The relaxed aim over the columns added so far."""

    def __init__(self, pool: Pool, aim: Aim, *, presolve: bool = True) -> None:
        """Take demand, limits and scale from ``pool``, but none of its columns yet."""
        name, caps = aim.name, aim.caps
        self.name, self.caps = name, tuple(caps)
        self._program = LinearProgram(presolve=presolve)
        self.unit = float(max(1, pool.totals[name].max(initial=1)))
        self.scales = np.array([max(1, pool.totals[cap].max(initial=1)) for cap in caps], np.float64)
        self.rows = [self._program.row(float(d), float(d)) for d in pool.demand]
        self.rows += [self._program.row(0.0, float(limit)) for limit in pool.limits]
        self.rows += [
            self._program.row(0.0, cap / by + LOOSE) for cap, by in zip(caps.values(), self.scales, strict=True)
        ]
        self.pieces = len(pool.demand)

    def matrix(self, pool: Pool) -> tuple[Floats, Floats]:
        """Return the scaled rows (columns, rows) of a pool's columns and what each adds to the scaled goal."""
        caps = [pool.totals[cap] / by for cap, by in zip(self.caps, self.scales, strict=True)]
        return np.column_stack([pool.yields, *caps]).astype(np.float64), pool.totals[self.name] / self.unit

    def add(self, matrix: Floats, goal: Floats) -> list[Variable]:
        """Add these columns, as ``matrix`` gives them."""
        variables = [self._program.column(float(gain)) for gain in goal]
        for row, variable in zip(matrix, variables, strict=True):
            for r in np.flatnonzero(row):
                self.rows[r].SetCoefficient(variable, float(row[r]))
        return variables

    def most(self, variable: Variable) -> float:
        """Return the most there can be of a column in a program without a goal; infinite where GLOP gives up."""
        self._program.price(variable, -1.0)
        most = -self._program.value if self._program.solved() else inf
        self._program.price(variable, 0.0)
        return most

    def solve(self) -> tuple[float, Floats] | None:
        """Return the least scaled total and the scaled duals of all rows; None where GLOP gives up."""
        if not self._program.solved():
            return None
        return self._program.value, np.array([row.dual_value() for row in self.rows])

    def duals(self) -> RowDuals | None:
        """Solve, and return bound and duals in the pool's own units; None where GLOP gives up."""
        if (solved := self.solve()) is None:
            return None
        bound, scaled = solved
        caps = scaled[len(scaled) - len(self.caps) :] / self.scales
        limits = scaled[self.pieces : len(scaled) - len(self.caps)]
        return RowDuals(
            (bound - SLACK) * self.unit, scaled[: self.pieces] * self.unit, limits * self.unit, caps * self.unit
        )


def relax(pool: Pool, aim: Aim, start: IntMatrix, watch: Watch) -> Bounded:
    """Relax the aim, which must not count patterns; ``start`` is a plan within its caps. Raises ``OutOfTime``."""
    program = Relaxation(pool, aim)
    matrix, goal = program.matrix(pool)
    inside = start > 0
    program.add(matrix[inside], goal[inside])
    while True:
        go_on(watch)
        if (solved := program.solve()) is None:
            return Bounded(0.0, np.zeros(len(pool.patterns)))
        bound, duals = solved
        reduced = goal - matrix @ duals
        fresh = np.flatnonzero((reduced < -SLACK) & ~inside)
        if not fresh.size:
            return Bounded((bound - SLACK) * program.unit, np.maximum(reduced, 0.0) * program.unit)
        fresh = fresh[np.argsort(reduced[fresh], kind="stable")[:BATCH]]
        inside[fresh] = True
        program.add(matrix[fresh], goal[fresh])


def reach(pool: Pool, caps: Mapping[str, int], start: IntMatrix, watch: Watch) -> IntMatrix:
    """Return how many sticks of each column a plan within the caps can have at the most: 0 for many.

    Each is a linear program of its own, from the basis of the one before ("bound tightening", Achterberg et al. 2020):
    ``x <= most * y`` counts patterns the better the smaller ``most`` is. ``start`` is a plan within the caps. Raises
    ``OutOfTime``.
    """
    program = Relaxation(pool, Aim("cost", caps), presolve=False)
    matrix, _ = program.matrix(pool)
    variables = program.add(matrix, np.zeros(len(start)))
    found = pool.most.copy()
    for j, variable in enumerate(variables):
        go_on(watch)
        found[j] = max(start[j], min(float(found[j]), program.most(variable) + NEARLY))
    return found


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The best plan found, ``counts[j]`` sticks of the pool's column ``j``, and whether none in the pool is better."""

    counts: IntMatrix
    least: bool


def arrange(pool: Pool, aim: Aim, start: IntMatrix, work: int, watch: Watch) -> Arrangement:
    """Look for the plan over the pool that comes closest to the aim, from the plan ``start``.

    ``work`` limits the nodes searched times the columns: SCIP counts no finer work, and a node costs about its columns.
    """
    return _Program(pool, aim).solve(start, work, watch)


class _Program:
    def __init__(self, pool: Pool, aim: Aim) -> None:
        self.pool, self.aim = pool, aim
        self._scip = IntegerProgram()
        self.counts = [self._scip.column(int(most)) for most in pool.most]
        rows = [self._scip.row(d, d) for d in pool.demand] + [self._scip.row(0, n) for n in pool.limits]
        for column, yields in zip(self.counts, pool.yields, strict=True):
            for r in np.flatnonzero(yields):
                rows[r].SetCoefficient(column, int(yields[r]))
        self.used = self._used() if aim.counts_patterns else []
        for cap, value in aim.caps.items():
            self._cap(cap, value)
        self._minimise(aim.name)

    def _used(self) -> list[Column]:
        used = [self._scip.column(1) for _ in self.counts]
        cover = [self._scip.row(min(1, d)) for d in self.pool.demand]
        for j, (count, use) in enumerate(zip(self.counts, used, strict=True)):
            link = self._scip.row(most=0)
            link.SetCoefficient(count, 1)
            link.SetCoefficient(use, -int(self.pool.most[j]))
            for i in np.flatnonzero(self.pool.yields[j, : len(self.pool.demand)]):
                cover[i].SetCoefficient(use, 1)
        return used

    def _terms(self, name: str) -> list[tuple[Column, int]]:
        if name == "patterns":
            return [(use, 1) for use in self.used]
        return [(x, int(c)) for x, c in zip(self.counts, self.pool.totals[name], strict=True) if c]

    def _cap(self, name: str, value: int) -> None:
        terms = self._terms(name)
        step = gcd(*(c for _, c in terms)) or 1
        row = self._scip.row(most=value // step)
        for column, c in terms:
            row.SetCoefficient(column, c // step)

    def _minimise(self, name: str) -> None:
        terms = self._terms(name)
        step = gcd(*(c for _, c in terms)) or 1
        for column, c in terms:
            self._scip.price(column, c // step)

    def solve(self, start: IntMatrix, work: int, watch: Watch) -> Arrangement:
        """Search from ``start`` as far as ``work`` allows; where nothing is found, the plan is ``start`` again."""
        used = [int(n > 0) for n in start] if self.used else []
        self._scip.hint(zip([*self.counts, *self.used], [*start.tolist(), *used], strict=True))
        nodes = max(1, work // max(1, len(self.counts)))
        found = self._scip.searched(self.counts, nodes, watch, lean=self.aim.name == "patterns")
        if found is None:
            return Arrangement(start, least=False)
        counts = np.array(found[0], dtype=np.int64)
        if not self._holds(counts) or self._total(counts) > self._total(start):
            return Arrangement(start, least=False)
        return Arrangement(counts, least=found[1])

    def _total(self, counts: IntMatrix) -> int:
        return self.pool.total(self.aim.name, counts)

    def _holds(self, counts: IntMatrix) -> bool:
        """Whether a plan meets demand, limits and caps in whole numbers: SCIP answers within a tolerance."""
        made, pieces = counts @ self.pool.yields, len(self.pool.demand)
        return bool(
            (counts >= 0).all()
            and (made[:pieces] == self.pool.demand).all()
            and (made[pieces:] <= self.pool.limits).all()
            and all(self.pool.total(name, counts) <= cap for name, cap in self.aim.caps.items())
        )


def recombine(pool: Pool, counts: IntMatrix, aim: Aim, watch: Watch) -> IntMatrix:
    """Return a plan within the caps of ``aim`` of no more patterns than ``counts``."""
    idle = 0
    for turn in range(TURNS):
        if watch.stopped or idle == PATIENCE:
            break
        better = _replaced(pool, counts, _group(pool, counts, turn), aim, watch)
        idle = idle + 1 if better is counts else 0
        counts = better
    return counts


def _group(pool: Pool, counts: IntMatrix, turn: int) -> NDArray[np.intp]:
    """Choose patterns in use that share pieces, from a different one each turn; a little chance keeps groups apart."""
    used = np.flatnonzero(counts)
    holds = (pool.yields[used, : len(pool.demand)] > 0).astype(np.float64)
    chance, chosen = np.random.default_rng(turn), [turn % len(used)]
    while len(chosen) < min(GROUP, len(used)):
        shared = holds @ (holds[chosen].sum(axis=0) > 0) + chance.uniform(0.0, 1.5, len(used))
        shared[chosen] = -1.0
        chosen.append(int(shared.argmax()))
    return used[chosen]


def _replaced(pool: Pool, counts: IntMatrix, group: NDArray[np.intp], aim: Aim, watch: Watch) -> IntMatrix:
    others = counts.copy()
    others[group] = 0
    left = np.array((*pool.demand, *pool.limits), np.int64) - others @ pool.yields
    fits = ((pool.yields <= left).all(axis=1) & (others == 0)) | np.isin(np.arange(len(counts)), group)
    if fits.sum() > COLUMNS:
        return counts
    demand, limits = np.split(left, [len(pool.demand)])
    part = replace(pool.only(fits), demand=tuple(demand.tolist()), limits=tuple(limits.tolist()))
    rest = {name: cap - pool.total(name, others) for name, cap in aim.caps.items()}
    found = arrange(part, replace(aim, caps=rest), counts[fits], WORK, watch).counts
    if np.count_nonzero(found) < len(group):
        others[fits] = found
        return others
    return counts
