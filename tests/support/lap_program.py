"""Runs and pieces as one integer program for HiGHS, stick by stick: fewest broken rules, then least cost.

Written from the meaning of ``LapProblem`` alone. Every stick that could be cut has its own variables, and so has every
piece that a run could have; laps lie where the lengths to their left put them. All sticks ask for one lap and end gap,
and no run is lapped at both of its outer ends. Lengths must be tiny: every rule is a row with a large constant.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product

import highspy
import numpy as np

from solver.categories import LapEnds
from solver.laps.problem import LapProblem, LapRun
from solver.required import Meets

Terms = dict[int, float]
"""Coefficients by column; -1 stands for a constant."""
CONSTANT = -1


def fewest_broken_and_least_cost(problem: LapProblem, most: int, seconds: float) -> tuple[int, int] | None:
    """Return how few rules a plan breaks, and what the cheapest of those that break as few costs.

    Plans that cost more than ``most`` are left out. None where HiGHS did not come to an end in time.
    """
    program = _Program(problem, most, seconds)
    broken = program.least(program.broken)
    return None if broken is None else _with(broken, program.least(program.cost))


def _with(broken: int, cost: int | None) -> tuple[int, int] | None:
    return None if cost is None else (broken, cost)


def plus(*terms: Terms, times: Sequence[float] = ()) -> Terms:
    """Return a sum of linear terms."""
    found: Terms = {}
    for factor, some in zip([*times, *[1.0] * (len(terms) - len(times))], terms, strict=True):
        for column, value in some.items():
            found[column] = found.get(column, 0.0) + factor * value
    return found


class _Program:
    def __init__(self, problem: LapProblem, most: int, seconds: float) -> None:
        self.highs = highspy.Highs()  # type: ignore[no-untyped-call]
        # HiGHS refuses another number of threads than it first ran with in this process: none is asked for
        for option, value in (("output_flag", False), ("mip_rel_gap", 0.0), ("time_limit", seconds)):
            self.highs.setOptionValue(option, value)
        self.problem, self.columns = problem, 0
        self.cost: Terms = {}
        self.broken: Terms = {}
        self.slots = list(self._slots(most))
        self.lap, self.end_gap = problem.sticks[0].lap, problem.sticks[0].end_gap
        self.loads: list[Terms] = [{} for _ in self.slots]
        self.lefts: list[Terms] = [{} for _ in self.slots]
        self.rights: list[Terms] = [{} for _ in self.slots]
        self.laps = [self._run(run) for run in problem.runs]
        self._pieces()
        self._sticks()
        self._beside()
        self.row(plus(self.cost), -highspy.kHighsInf, most)

    def _slots(self, most: int) -> Iterator[int]:
        for kind, stick in enumerate(self.problem.sticks):
            affordable = most // stick.cost if stick.cost else stick.limit or 0
            yield from [kind] * (affordable if stick.limit is None else min(affordable, stick.limit))

    def column(self, most: float) -> Terms:
        """Add a whole number from 0 to ``most``."""
        self.highs.addVar(0, most)
        self.highs.changeColIntegrality(self.columns, highspy.HighsVarType.kInteger)
        self.columns += 1
        return {self.columns - 1: 1.0}

    def row(self, terms: Terms, low: float, high: float) -> None:
        """Add a row; its constant is taken to the other side."""
        constant = terms.get(CONSTANT, 0.0)
        found = {column: value for column, value in terms.items() if column != CONSTANT}
        indices, values = np.array(list(found), np.int32), np.array(list(found.values()), float)
        self.highs.addRow(low - constant, high - constant, len(found), indices, values)

    def below(self, terms: Terms) -> None:
        """State that these terms are 0 at the most."""
        self.row(terms, -highspy.kHighsInf, 0)

    def least(self, terms: Terms) -> int | None:
        """Return the least of a sum and keep it from now on; None where it was not found in time."""
        for column in range(self.columns):
            self.highs.changeColCost(column, terms.get(column, 0.0))
        self.highs.run()
        status, ends = self.highs.getModelStatus(), highspy.HighsModelStatus
        assert status in (ends.kOptimal, ends.kInfeasible, ends.kTimeLimit), status
        if status != ends.kOptimal:
            return None
        value = round(self.highs.getInfo().objective_function_value)
        self.row({c: v for c, v in terms.items() if c != CONSTANT}, -highspy.kHighsInf, value)
        return value + round(terms.get(CONSTANT, 0.0))

    def _most_parts(self, run: LapRun) -> int:
        """Return the fewest pieces of the longest stick on sale that reach over the run, and the extra ones."""
        longest, pieces = max(s.length for s in self.problem.sticks if s.limit is None), 1
        while pieces * longest < self._covered(run) + self.lap * (pieces - 1):
            pieces += 1
        return pieces + self.problem.rules.extra_laps

    def _covered(self, run: LapRun) -> int:
        ends = {Meets.PLAIN: 0, Meets.CHANNEL: -self.end_gap, Meets.LAP: self.lap}
        return run.length + ends[run.left] + ends[run.right]

    def _run(self, run: LapRun) -> list[tuple[Terms, Terms]]:
        """Lay a run: return for each of its laps whether it has it, and where it lies."""
        most, big = self._most_parts(run), 4 * sum(stick.length for stick in self.problem.sticks) + 4 * run.length
        there = [self.column(1) for _ in range(most)]
        self.row(there[0], 1, 1)
        for one, other in zip(there[1:], there, strict=False):
            self.below(plus(one, other, times=[1, -1]))
        lengths = [self._piece(run, part, there) for part in range(most)]
        together = {CONSTANT: float(self._covered(run) - self.lap)}
        self.row(plus(*lengths, together, *there, times=[*[1.0] * most, -1.0, *[-self.lap] * most]), 0, 0)
        ends = {Meets.PLAIN: 0, Meets.CHANNEL: self.end_gap, Meets.LAP: -self.lap}
        place: Terms = {CONSTANT: float(run.start + ends[run.left])}
        laps = []
        for part in range(1, most):
            place = plus(place, lengths[part - 1], {CONSTANT: float(-self.lap)})
            laps.append((there[part], place))
        for has, at in laps:
            for start, end in run.keep_clear:
                self._apart(at, {CONSTANT: float(start - max(self.lap, 0))}, {CONSTANT: float(end + max(-self.lap, 0))},
                            [has], big)  # fmt: skip
        return laps

    def _piece(self, run: LapRun, part: int, there: Sequence[Terms]) -> Terms:
        """Cut a piece of a run, where it is there, from one stick; return its length."""
        problem, follows = self.problem, there[part + 1] if part + 1 < len(there) else {}
        from_each, length = list[Terms](), dict[int, float]()
        for slot, kind in enumerate(self.slots):
            stick = problem.sticks[kind]
            given, taken = self.column(1), self.column(stick.length)
            self.below(plus(taken, given, times=[1, -stick.length]))
            self.below(plus(given, taken, times=[1, -1]))
            from_each.append(given)
            length = plus(length, taken)
            self.loads[slot] = plus(self.loads[slot], taken, given, times=[1, 1, problem.kerf])
            if problem.rules.ends is LapEnds.FACTORY:
                self._factory(slot, given, taken, part > 0 or run.left is Meets.LAP, run.right is Meets.LAP, follows)
        self.row(plus(*from_each, there[part], times=[*[1.0] * len(from_each), -1.0]), 0, 0)
        if problem.rules.shortest > 1:
            short = self.column(1)
            self.broken = plus(self.broken, short)
            self.below(plus(there[part], short, length, times=[problem.rules.shortest, -problem.rules.shortest, -1]))
        return length

    def _factory(self, slot: int, given: Terms, taken: Terms, left: bool, right: bool, follows: Terms) -> None:
        """Of a stick one piece has the left factory end, one the right one; a piece that needs both is all of it."""
        stick = self.problem.sticks[self.slots[slot]]
        needs = self.column(1)
        self.below(plus(needs, given, times=[1, -1]))
        if right:
            self.below(plus(given, needs, times=[1, -1]))
        else:
            self.below(plus(given, follows, needs, {CONSTANT: -1.0}, times=[1, 1, -1, 1]))
        self.rights[slot] = plus(self.rights[slot], needs)
        if left:
            self.lefts[slot] = plus(self.lefts[slot], given)
            self.below(plus(needs, taken, times=[stick.length, -1]))

    def _pieces(self) -> None:
        for piece in self.problem.pieces:
            cut = [self.column(piece.demand) for _ in self.slots]
            for slot, count in enumerate(cut):
                taken = piece.length + self.problem.kerf
                self.loads[slot] = plus(self.loads[slot], count, times=[1, taken])
                if piece.left:
                    self.lefts[slot] = plus(self.lefts[slot], count)
                if piece.right:
                    self.rights[slot] = plus(self.rights[slot], count)
            self.row(plus(*cut), piece.demand, piece.demand)

    def _sticks(self) -> None:
        kerf = self.problem.kerf
        before: tuple[int, Terms] | None = None
        for slot, kind in enumerate(self.slots):
            stick, used = self.problem.sticks[kind], self.column(1)
            self.below(plus(self.loads[slot], used, times=[1, -stick.length - kerf]))
            self.below(plus(self.lefts[slot], {CONSTANT: -float(stick.left)}))
            self.below(plus(self.rights[slot], {CONSTANT: -float(stick.right)}))
            self.cost = plus(self.cost, used, times=[1, stick.cost])
            if before and before[0] == kind:
                self.below(plus(used, before[1], times=[1, -1]))
            before = kind, used

    def _beside(self) -> None:
        rules = self.problem.rules
        for (one, first), (two, second) in combinations(zip(self.problem.runs, self.laps, strict=True), 2):
            if one.wall is None or one.wall != two.wall or one.course is None or two.course is None:
                continue
            courses = abs(one.course - two.course)
            needed = [rules.spacing] * (courses == 1) + [rules.in_line_within] * (0 < courses <= rules.repeat)
            big = 2 * (one.length + two.length + abs(one.start) + abs(two.start)) + 2 * max(needed, default=0)
            for distance, (has, at), (other, place) in product(filter(None, needed), first, second):
                low, high = ({CONSTANT: float(sign * distance)} for sign in (-1, 1))
                self._apart(at, plus(place, low), plus(place, high), [has, other], big)

    def _apart(self, at: Terms, low: Terms, high: Terms, there: Sequence[Terms], big: float) -> None:
        """A rule is broken where the place lies between two others, all being there."""
        beyond, broken = self.column(1), self.column(1)
        self.broken = plus(self.broken, broken)
        absent = plus({CONSTANT: float(len(there))}, *there, times=[1, *[-1.0] * len(there)])
        self.below(plus(at, low, beyond, broken, absent, times=[1, -1, -big, -big, -big]))
        self.below(plus(high, at, {CONSTANT: 1.0}, beyond, broken, absent, times=[1, -1, -big, big, -big, -big]))
