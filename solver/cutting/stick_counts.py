"""The cheapest numbers of sticks that no certificate rules out, and which certificates prove that.

Any values of the pieces give a cut on the numbers ``n_k`` of sticks: together they must be worth what all
pieces are worth, ``sum ceiling_k n_k >= sum demand_i value_i`` (a Benders cut, Benders 1962, of the
pattern program projected onto the numbers of sticks). With a handful of kinds of stick, the numbers
within reach of the best cost known are few: their ranges are narrowed by linear programs of a handful
of variables, and then they are listed (``count_bounds``) or, where that would be too many, found by a small integer
program in CP-SAT. Float duals only weigh the cuts into one; what that one proves is whole-number
arithmetic again::

    minimise    sum cost_k n_k
    subject to  sum ceiling_k n_k >= worth      every certificate
                n within its ranges, and none of the numbers given before

It is the master program of a logic-based Benders decomposition (Hooker and Ottosson 2003), with the
certificates as cuts. CP-SAT computes in whole numbers, so its optimum and its word that there is nothing left are
exact; the cuts are made coarser first, as far as 64 bits ask, which rules out less.

Of the certificates the proof carries few, for the checker's sake (``sufficient``). The first are those that the
cheapest numbers in fractions rest on. Then the numbers below the bound that the certificates chosen so far allow are
listed, cheapest first, and for each the one certificate is added that rules it out by most, until none is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from solver.cutting.bounds import Certificate
from solver.cutting.count_bounds import Box, CountProgram, Numbers, candidates, coarser, rules_out
from solver.cutting.incumbent import Incumbent
from solver.cutting.problem import MOST_SETS
from solver.lp.cpsat import counted
from solver.lp.lazily import cp_model
from solver.watch import Watch

EFFORT = 0.5
"""CP-SAT's counted work, about as many seconds: a cancel is not heard meanwhile."""

MOST_BITS = 36
"""Bits of a cut's worth: its terms must add up in 64 bits with any numbers within the ranges."""
LISTED = 4_000_000
"""Numbers within their ranges, times kinds that have a choice, that are listed rather than searched."""


class Undecided(Exception):
    """The work allowed did not suffice."""


class CountChoice:
    """The program over one box under cuts, for numbers that cost less than ``below``."""

    def __init__(self, box: Box, costs: Sequence[int], cuts: Iterable[Certificate], below: int) -> None:
        """Write the program down; kinds without a choice are constants in it."""
        self._model = cp_model.CpModel()
        self._ranges = list(zip(box.least, box.most, strict=True))
        self._numbers = [self._model.new_int_var(least, most, "") for least, most in self._ranges]
        for cut in cuts:
            ceilings, worth = coarser(cut, MOST_BITS)
            self._model.add(self._sum(ceilings) >= worth)
        self._model.add(self._sum(costs) < below)
        self._model.minimize(self._sum(costs))

    def _sum(self, factors: Sequence[int]) -> cp_model.LinearExprT:
        return cp_model.LinearExpr.weighted_sum(self._numbers, list(factors))

    def exclude(self, numbers: Numbers) -> None:
        """Leave these numbers out; those outside the ranges are out already."""
        if not all(least <= number <= most for number, (least, most) in zip(numbers, self._ranges, strict=True)):
            return
        others = []
        for variable, number, (least, most) in zip(self._numbers, numbers, self._ranges, strict=True):
            if least < most:
                others.append(self._model.new_bool_var(""))
                self._model.add(variable != number).only_enforce_if(others[-1])
        self._model.add_bool_or(others)

    def cheapest(self, watch: Watch) -> Numbers | None:
        """Return the cheapest numbers, or None where there are none; raises ``Undecided``."""
        if watch.stopped:
            raise Undecided
        solver = counted(EFFORT, watch)
        status = solver.solve(self._model)
        if status == cp_model.INFEASIBLE:
            return None
        if status != cp_model.OPTIMAL:
            raise Undecided
        return tuple(solver.value(variable) for variable in self._numbers)


class StickCounts:
    """Numbers of sticks under a growing list of cuts."""

    def __init__(self, costs: Sequence[int], most: Numbers, *, choose: bool = True) -> None:
        """``most``: sticks of each kind that there may be; ``choose``: whether numbers too many to list are sought.

        Where they are not, a tenth of them is already too many.
        """
        self._choose = choose
        self._costs = costs
        self._program = CountProgram(costs)
        self._box = Box(0, tuple(n if cost == 0 else 0 for n, cost in zip(most, costs, strict=True)), most)
        self._given: set[Numbers] = set()

    def add(self, cut: Certificate) -> None:
        """Rule out numbers of sticks that are worth less than all pieces."""
        self._program.add(cut)

    def pass_over(self, numbers: Numbers) -> None:
        """Never return these numbers."""
        self._given.add(numbers)

    @property
    def cuts(self) -> Sequence[Certificate]:
        """The cuts added so far."""
        return self._program.cuts

    def cost(self, numbers: Numbers) -> int:
        """Return what so many sticks cost."""
        return sum(cost * n for cost, n in zip(self._costs, numbers, strict=True))

    def cheapest(self, below: int, watch: Watch) -> tuple[int, Numbers | None]:
        """Return a bound on the cost of all numbers neither ruled out nor returned before, and the cheapest of them.

        Costs from ``below`` on are of no interest. Where all cost that much, or it was not decided before the
        work was used up or ``watch`` stopped it, there are no numbers.
        """
        narrowed = self._program.narrowed(self._box, below)
        if narrowed is None:
            return below, None
        self._box = narrowed
        size = narrowed.size * narrowed.choices
        if size <= (LISTED if self._choose else LISTED // 10):
            return self._first(narrowed, below, watch)
        return self._search(narrowed, below, watch) if self._choose else (narrowed.bound, None)

    def weightiest(self) -> list[Certificate]:
        """Return the cuts that the cheapest numbers in fractions rest on."""
        return self._program.weighty(self._costs, self._box)

    def narrowing(self, below: int) -> list[Certificate]:
        """Return the cuts that the ranges of numbers that cost less than ``below`` rest on, each once."""
        kinds = range(len(self._costs))
        ways = [[sign * (j == k) for j in kinds] for k in kinds for sign in (1, -1)]
        found = (cut for way in ways for cut in self._program.weighty(way, self._box, below))
        return list({id(cut): cut for cut in found}.values())

    def _first(self, box: Box, below: int, watch: Watch) -> tuple[int, Numbers | None]:
        for numbers in candidates(box, self._costs, self._program.cuts, below, watch):
            if self._open(numbers):
                return self._give(numbers)
            if watch.stopped:
                return max(box.bound, self.cost(numbers)), None
        return below, None

    def _give(self, numbers: Numbers) -> tuple[int, Numbers]:
        self._given.add(numbers)
        return self.cost(numbers), numbers

    def _search(self, box: Box, below: int, watch: Watch) -> tuple[int, Numbers | None]:
        program = CountChoice(box, self._costs, self._program.cuts, below)
        for numbers in self._given:
            if self._allowed(numbers):
                program.exclude(numbers)
        try:
            while (found := program.cheapest(watch)) is not None:
                if self._open(found):
                    return self._give(found)
                program.exclude(found)
        except Undecided:
            return box.bound, None
        return below, None

    def _open(self, numbers: Numbers) -> bool:
        return numbers not in self._given and self._allowed(numbers)

    def _allowed(self, numbers: Numbers) -> bool:
        return not any(rules_out(cut, numbers) for cut in self._program.cuts)


def sufficient(cuts: Sequence[Certificate], incumbent: Incumbent) -> tuple[Certificate, ...]:
    """Return those of the cuts that rule out all numbers below the bound; none where that takes too many."""
    every = _counting(cuts, incumbent)
    first = every.weightiest()
    return _enough(cuts, first, incumbent) or _enough(cuts, [*first, *every.narrowing(incumbent.bound)], incumbent)


def _enough(cuts: Sequence[Certificate], first: Iterable[Certificate], incumbent: Incumbent) -> tuple[Certificate, ...]:
    """Add to the ``first`` of the cuts what it takes; none where that is too many, or numbers are too many to list."""
    chosen = list({id(cut): cut for cut in first if cut.worth > 0}.values())
    counting = _counting(chosen, incumbent)
    while len(chosen) < MOST_SETS:
        reached, numbers = counting.cheapest(incumbent.bound, incumbent.watch)
        if numbers is None:
            return tuple(chosen) if reached >= incumbent.bound else ()
        cut = max(cuts, key=lambda cut: _lacking(cut, numbers))
        if _lacking(cut, numbers) <= 0:
            return ()
        chosen.append(cut)
        counting.add(cut)
    return ()


def _counting(cuts: Iterable[Certificate], incumbent: Incumbent) -> StickCounts:
    """Return all numbers of sticks that cost less than the bound, under cuts."""
    problem = incumbent.reduced.problem
    pieces = sum(piece.demand for piece in problem.pieces)
    costs = problem.least_costs
    limits = (pieces if stick.limit is None else min(stick.limit, pieces) for stick in problem.sticks)
    affordable = (pieces if not cost else (incumbent.bound - 1) // cost for cost in costs)
    counting = StickCounts(costs, tuple(min(pair) for pair in zip(limits, affordable, strict=True)), choose=False)
    for cut in cuts:
        counting.add(cut)
    return counting


def _lacking(cut: Certificate, numbers: Numbers) -> float:
    """Return how much of the worth of all pieces these sticks lack, as a share of it."""
    worth = sum(c * n for c, n in zip(cut.ceilings, numbers, strict=True))
    return (cut.worth - worth) / cut.worth if cut.worth > 0 else 0.0
