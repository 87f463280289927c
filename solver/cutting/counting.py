"""The cheapest numbers of sticks that no certificate rules out.

Any values of the pieces give a cut on the numbers ``n_k`` of sticks: together they must be worth what all
pieces are worth, ``sum ceiling_k n_k >= sum demand_i value_i`` (a Benders cut, Benders 1962, of the
pattern program projected onto the numbers of sticks). With a handful of kinds of stick, the numbers
within reach of the best cost known are few: their ranges are narrowed by linear programs of a handful
of variables, and then they are listed (``number_grid``) or, where that would be too many, found by a small integer
program (``number_choice``). Float duals only weigh the cuts into one; what that one proves is whole-number
arithmetic again.
"""

from __future__ import annotations

from collections.abc import Sequence

from solver.cutting.certificate import Certificate
from solver.cutting.number_choice import NumberChoice, Undecided
from solver.cutting.number_grid import Box, Numbers, candidates, rules_out
from solver.cutting.number_program import NumberProgram
from solver.watch import Watch

LISTED = 4_000_000
"""Numbers within their ranges, times kinds that have a choice, that are listed rather than searched."""


class Counting:
    """Numbers of sticks under a growing list of cuts."""

    def __init__(self, costs: Sequence[int], most: Numbers, *, choose: bool = True) -> None:
        """``most``: sticks of each kind that there may be; ``choose``: whether numbers too many to list are sought."""
        self._choose = choose
        self._costs = costs
        self._program = NumberProgram(costs)
        self._box = Box(0, tuple(n if cost == 0 else 0 for n, cost in zip(most, costs, strict=True)), most)
        self._given: set[Numbers] = set()

    def add(self, cut: Certificate) -> None:
        """Rule out numbers of sticks that are worth less than all pieces."""
        self._program.add(cut)

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
        if narrowed.size * narrowed.choices <= LISTED:
            return self._first(narrowed, below, watch)
        return self._search(narrowed, below, watch) if self._choose else (narrowed.bound, None)

    def weightiest(self) -> list[Certificate]:
        """Return the cuts that the cheapest numbers in fractions rest on."""
        return self._program.weighty(self._costs, self._box)

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
        program = NumberChoice(box, self._costs, self._program.cuts, below)
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
