"""What to carry from day to day: column generation over all materials at once, then dives for whole numbers.

Timed patterns are generated for the linear program (Gilmore and Gomory 1961), the restricted master of all materials
that share the van:

    minimise    sum cost_kp x_kp + missing_cost sum y_ki
    subject to  sum a_kip x_kp + y_ki >= demand_ki      every dated piece i of every material k
                sum x_kp <= limit_ks                    every limited stick s
                sum x_kp <= room_n                      every night n that p is carried, where the van is limited

Its numbers choose patterns and prove nothing. A dive fixes only the patterns that lie in the van or take a stick of
which there are few, rounding the linear program's solution down, or the largest fractions up where nothing is whole
(Belov and Scheithauer 2002 round in the same spirit); what then is left of each day is a small problem of its own.
Dives differ in how often they price between two roundings.

``joint_bound`` is one on the bill of all materials together in the van that there is, however small it is. Let ``v``
be duals of pieces and ``t`` of places in the van each night, both not negative. If no allowed pattern of stick ``s``
is worth more than ``b_s``, its pieces less its nights, then any plan that cuts every piece costs at least

    sum demand_i v_i - sum room_n t_n - sum limit_s max(0, b_s - cost_s)

provided that ``b_s <= cost_s`` where a stick has no limit; duals that break this are all made smaller in proportion
(Farley 1990, "A note on bounding a class of linear programming problems, including cutting stock problems"). The
duals are those of the linear program rounded to whole numbers, and ``b_s`` is found by the pricer, whose sums of
whole numbers are exact in floating point.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import gcd, inf

from solver.cutting.problem import Pattern
from solver.lp import glop
from solver.watch import Watch
from solver.weekly.material_week import MaterialWeek
from solver.weekly.patterns.pricing import TimedPricer
from solver.weekly.timed import Residual, TimedProblem, Van

ROUNDS = 300
"""Rounds of pricing before the first rounding, at most."""
DIVES = (0, 2, 20)
"""Rounds of pricing between two roundings, for one dive after the other."""
GAIN = 1e-4
"""A pattern must be worth so much more than its stick, as a share of it, to be added."""
AT_ONCE = 6
"""Patterns taken from one pricing."""
AT_ONCE_UP, UP_FROM = 8, 0.6
"""One in so many of the fractions is rounded up at once, if it is so large or the largest."""
Column = tuple[int, Pattern]
"""A material by its place, and a pattern of it."""
FINE = 1_000
"""Duals are counted in so small a part of a step of money."""


@dataclass(frozen=True, slots=True)
class Part:
    """One material's problem, and what a step of its cost weighs beside those of the others."""

    problem: TimedProblem
    weight: float


@dataclass(frozen=True, slots=True)
class Duals:
    """What pieces, sticks and a place in the van each night are worth to one material, in steps of its cost."""

    pieces: tuple[float, ...]
    sticks: tuple[float, ...]
    nights: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class MasterSolution:
    """What things are worth, and how often each pattern is used."""

    duals: tuple[Duals, ...]
    uses: tuple[tuple[Column, float], ...]


class RestrictedMaster:
    """Patterns of several timed problems; what is wanted and what there is may be changed between solves."""

    def __init__(self, parts: Sequence[Part], van: Van) -> None:
        self._parts = parts
        self._program = glop.LinearProgram(presolve=True)
        self._nights = {night: self._program.row(0, room) for night, room in van.items()}
        self._pieces = [[self._piece(part, k) for k in range(len(part.problem.pieces))] for part in parts]
        self._sticks = [[self._stick(supply.limit) for supply in part.problem.supplies] for part in parts]
        self._columns: dict[Column, glop.Column] = {}

    def _piece(self, part: Part, place: int) -> glop.Row:
        piece, supplies = part.problem.pieces[place], part.problem.supplies
        row = self._program.row(piece.demand)
        dear = 10 * part.weight * (1 + max(supply.cost for supply in supplies))
        row.SetCoefficient(self._program.column(dear * (1 + piece.length / supplies[0].length)), 1)
        return row

    def _stick(self, limit: int | None) -> glop.Row:
        return self._program.row(0, inf if limit is None else limit)

    def restrict(self, residuals: Sequence[Residual]) -> None:
        """Set what is still wanted, how many sticks are left, and the room in the van."""
        for left, pieces, sticks in zip(residuals, self._pieces, self._sticks, strict=True):
            for row, demand in zip(pieces, left.demands, strict=True):
                row.SetLb(demand)
            for row, limit in zip(sticks, left.limits, strict=True):
                row.SetUb(inf if limit is None else limit)
            for night, row in self._nights.items():
                row.SetUb(left.room[night])

    def add(self, part: int, patterns: Iterable[Pattern]) -> int:
        """Add those patterns of a part that are new, and return how many were."""
        before = len(self._columns)
        for pattern in patterns:
            if (part, pattern) not in self._columns:
                self._columns[part, pattern] = self._column(part, pattern)
        return len(self._columns) - before

    def _column(self, part: int, pattern: Pattern) -> glop.Column:
        problem, weight = self._parts[part].problem, self._parts[part].weight
        cost = problem.supplies[pattern.stick].cost + problem.carrying_cost * problem.carried(pattern)
        variable = self._program.column(weight * cost)
        self._sticks[part][pattern.stick].SetCoefficient(variable, 1)
        for night in problem.nights(pattern):
            if night in self._nights:
                self._nights[night].SetCoefficient(variable, 1)
        for i, copies in Counter(pattern.pieces).items():
            self._pieces[part][i].SetCoefficient(variable, copies)
        return variable

    def solve(self) -> MasterSolution | None:
        """Return the best solution over the patterns known; None if GLOP failed."""
        if not (self._program.solved() or self._program.solved(dual=True)):
            return None
        uses = tuple((c, x) for c, v in self._columns.items() if (x := v.solution_value()) > glop.NEARLY)
        return MasterSolution(tuple(self._duals(k) for k in range(len(self._parts))), uses)

    def _duals(self, part: int) -> Duals:
        weight = self._parts[part].weight
        return Duals(
            tuple(max(0.0, row.dual_value() / weight) for row in self._pieces[part]),
            tuple(max(0.0, -row.dual_value() / weight) for row in self._sticks[part]),
            {night: max(0.0, -row.dual_value() / weight) for night, row in self._nights.items()},
        )


class Generation:
    """Patterns of several materials and the plans that dives find with them."""

    def __init__(self, parts: Sequence[Part], known: Sequence[Iterable[Pattern]], van: Van, watch: Watch) -> None:
        self._problems, self._van, self._watch = [part.problem for part in parts], van, watch
        self._master = RestrictedMaster(parts, van)
        self._pricers = [TimedPricer(problem) for problem in self._problems]
        for k, problem in enumerate(self._problems):
            self._master.add(k, [*known[k], *_singles(problem)])
        self.solution = self._priced(self._residuals(), ROUNDS)
        """The linear program's answer for the whole week; None if GLOP failed."""

    def dives(self) -> Iterator[list[Counter[Pattern]]]:
        """Yield for each dive what it carries and which few sticks it takes, material by material."""
        for rounds in DIVES:
            if not self._watch.stopped:
                yield self._dive(rounds)

    def _dive(self, rounds: int) -> list[Counter[Pattern]]:
        plan: list[Counter[Pattern]] = [Counter() for _ in self._problems]
        residuals, solution = self._residuals(), self.solution
        while solution is not None and not self._watch.stopped:
            fixed = list(_fixed(self._linked(solution), residuals))
            for (k, pattern), count in fixed:
                plan[k][pattern] += count
            if not fixed:
                break
            solution = self._priced(residuals, rounds)
        return plan

    def _residuals(self) -> list[Residual]:
        room = dict(self._van)
        return [Residual(problem, room) for problem in self._problems]

    def _linked(self, solution: MasterSolution) -> list[tuple[Column, float]]:
        """Return the uses of patterns that do not follow from their day alone, largest first."""
        linked = [use for use in solution.uses if self._is_linked(*use[0])]
        return sorted(linked, key=lambda use: (-use[1], use[0]))

    def _is_linked(self, part: int, pattern: Pattern) -> bool:
        problem = self._problems[part]
        return problem.carried(pattern) > 0 or problem.supplies[pattern.stick].limit is not None

    def _priced(self, residuals: Sequence[Residual], rounds: int) -> MasterSolution | None:
        """Return the program's answer once no pattern makes it better; the last it gave where GLOP fails."""
        self._master.restrict(residuals)
        solution = self._master.solve()
        for _ in range(rounds):
            if solution is None or self._watch.stopped or not self._add_better(solution, residuals):
                break
            following = self._master.solve()
            if following is None:
                break
            solution = following
        return solution

    def _add_better(self, solution: MasterSolution, residuals: Sequence[Residual]) -> int:
        return sum(self._master.add(k, self._better(k, solution, left)) for k, left in enumerate(residuals))

    def _better(self, part: int, solution: MasterSolution, left: Residual) -> list[Pattern]:
        """Return patterns worth more than their stick costs; rack pieces are asked only if no bought stick has any."""
        supplies = self._problems[part].supplies
        places = [k for k, limit in enumerate(left.limits) if limit != 0]
        found = self._of(part, [k for k in places if supplies[k].cost], solution, left)
        return found or self._of(part, [k for k in places if not supplies[k].cost], solution, left)

    def _of(self, part: int, places: Iterable[int], solution: MasterSolution, left: Residual) -> list[Pattern]:
        found: list[Pattern] = []
        duals = solution.duals[part]
        for k in places:
            floor = (self._problems[part].supplies[k].cost + duals.sticks[k]) * (1 + GAIN) + glop.NEARLY
            best = self._pricers[part].best(k, duals.pieces, left.demands, duals.nights, AT_ONCE)
            found += [pattern for worth, pattern in best if worth > floor]
        return found


def _singles(problem: TimedProblem) -> list[Pattern]:
    """Return every piece by itself, so that whatever can be cut has a pattern."""
    singles = (Pattern(k, (i,)) for k in range(len(problem.supplies)) for i in range(len(problem.pieces)))
    return [pattern for pattern in singles if problem.allowed(pattern)]


def _fixed(uses: Sequence[tuple[Column, float]], residuals: Sequence[Residual]) -> Iterator[tuple[Column, int]]:
    """Take the whole part of every use that fits, or one each of the largest fractions, and yield what was taken."""
    whole = [(column, int(x + glop.NEARLY)) for column, x in uses if int(x + glop.NEARLY)]
    taken = [entry for entry in whole if _taken(entry, residuals)]
    if not taken:
        fitting = [(column, x) for column, x in uses if residuals[column[0]].fits(column[1], 1)]
        most = max(1, len(fitting) // AT_ONCE_UP)
        up = [(column, 1) for column, x in fitting[:most] if x >= min(UP_FROM, fitting[0][1])]
        taken = [entry for entry in up if _taken(entry, residuals)]
    yield from taken


def _taken(entry: tuple[Column, int], residuals: Sequence[Residual]) -> bool:
    (part, pattern), count = entry
    if not residuals[part].fits(pattern, count):
        return False
    residuals[part].take(pattern, count)
    return True


@dataclass(frozen=True, slots=True)
class _Bounded:
    """One stick of one material: what it costs and how many there are, and the most that a pattern of it is worth."""

    cost: int
    limit: int | None
    best: int


@dataclass(frozen=True, slots=True)
class JointBound:
    """What no plan of all materials that cuts every piece costs less than, in ten-thousandths of money.

    ``values`` are what it rests on where that is a linear program: those of each material's pieces, and of the nights,
    in ``FINE`` parts of these.
    """

    least: int
    values: tuple[tuple[int, ...], ...] = ()
    nights: Mapping[int, int] = field(default_factory=dict)


def joint_bound(weeks: Sequence[MaterialWeek], solution: MasterSolution, van: Van) -> JointBound | None:
    """Return what no plan of these materials that cuts every piece costs less than.

    None where one of them has no prices, or runs, whose laps could be laid otherwise, or lengths too fine to be
    priced exactly.
    """
    pricers = [TimedPricer(week.problem, fee=0.0) for week in weeks]
    if not all(w.material.priced and not w.has_runs and p.exact for w, p in zip(weeks, pricers, strict=True)):
        return None
    # the nights are the same for all, so what a place is worth must be one number: that of the first, in its steps
    tolls = {night: round(toll * weeks[0].cost_scale * FINE) for night, toll in solution.duals[0].nights.items()}
    wanted, sticks = -sum(room * tolls[night] for night, room in van.items()), list[_Bounded]()
    every = list[tuple[int, ...]]()
    for week, pricer, duals in zip(weeks, pricers, solution.duals, strict=True):
        values = tuple(round(value * week.cost_scale * FINE) for value in duals.pieces)
        every.append(values)
        wanted += sum(piece.demand * value for piece, value in zip(week.problem.pieces, values, strict=True))
        sticks += list(_bounded(week, pricer, Duals(tuple(map(float, values)), (), tolls)))
    return JointBound(_rounded_up(_least(wanted, sticks), weeks), tuple(every), tolls)


def _bounded(week: MaterialWeek, pricer: TimedPricer, duals: Duals) -> Iterator[_Bounded]:
    demands = [piece.demand for piece in week.problem.pieces]
    for place, supply in enumerate(week.problem.supplies):
        if supply.limit != 0:
            best = pricer.best(place, duals.pieces, demands, duals.nights, 1)
            # a piece that needs both ends is a stick by itself, which the pricer leaves out
            whole = [v for v, p in zip(duals.pieces, week.problem.pieces, strict=True) if p.left and p.right]
            most = max([worth for worth, _ in best] + whole, default=0.0)
            yield _Bounded(supply.cost * week.cost_scale * FINE, supply.limit, int(most))


def _least(wanted: int, sticks: Sequence[_Bounded]) -> Fraction:
    """Return the bound, its duals made smaller as far as sticks without limit ask for it."""
    over = [Fraction(s.cost, s.best) for s in sticks if s.limit is None and s.best > s.cost]
    share = min(over, default=Fraction(1))
    charges = sum(max(Fraction(0), share * s.best - s.cost) * s.limit for s in sticks if s.limit)
    return share * wanted - charges


def _rounded_up(least: Fraction, weeks: Sequence[MaterialWeek]) -> int:
    """Return the smallest bill from ``least`` on that whole sticks can come to."""
    step = gcd(*(supply.cost * week.cost_scale for week in weeks for supply in week.problem.supplies)) or 1
    return max(0, -(-least // (step * FINE)) * step)
