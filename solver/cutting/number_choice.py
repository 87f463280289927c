"""The cheapest numbers of sticks where the ranges hold too many to be listed: a small integer program in CP-SAT.

    minimise    sum cost_k n_k
    subject to  sum ceiling_k n_k >= worth      every certificate
                n within its ranges, and none of the numbers given before

It is the master program of a logic-based Benders decomposition (Hooker and Ottosson 2003), with the
certificates as cuts. CP-SAT computes in whole numbers, so its optimum and its word that there is nothing left are
exact; the cuts are made coarser first, as far as 64 bits ask, which rules out less.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ortools.sat.python import cp_model

from solver.cutting.certificate import Certificate
from solver.cutting.number_grid import Box, Numbers, coarser
from solver.lp.cpsat import counted
from solver.watch import Watch

EFFORT = 0.5
"""CP-SAT's counted work, about as many seconds: a cancel is not heard meanwhile."""

MOST_BITS = 36
"""Bits of a cut's worth: its terms must add up in 64 bits with any numbers within the ranges."""


class Undecided(Exception):
    """The work allowed did not suffice."""


class NumberChoice:
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
