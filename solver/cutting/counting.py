"""The cheapest numbers of sticks that no certificate rules out.

Any values of the pieces give a cut on the numbers ``n_k`` of sticks: together they must be worth what all
pieces are worth, ``sum ceiling_k n_k >= sum demand_i value_i`` (a Benders cut, Benders 1962, of the
pattern program projected onto the numbers of sticks). With a handful of kinds of stick, the numbers
within reach of the best cost known are few: their ranges are narrowed by linear programs of a handful
of variables, and then they are listed (``NumberGrid``) or, where that would be too many, found by branch and
bound. Float duals only weigh the cuts into one; what that one proves is whole-number arithmetic again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import heappop, heappush
from math import floor

from solver.cutting.certificate import Certificate
from solver.cutting.number_grid import Box, Numbers, candidates, rules_out
from solver.cutting.number_program import NumberProgram
from solver.watch import Watch

LISTED = 4_000_000
"""Numbers within their ranges, times kinds that have a choice, that are listed rather than searched."""


class Counting:
    """Numbers of sticks under a growing list of cuts."""

    def __init__(self, costs: Sequence[int], most: Numbers) -> None:
        """``most``: how many sticks of each kind there may be."""
        self._costs = costs
        self._program = NumberProgram(costs)
        self._box = Box(0, tuple(n if cost == 0 else 0 for n, cost in zip(most, costs, strict=True)), most)
        self._heap = [(0, 0, self._box)]
        self._serial = 0
        self._given: set[Numbers] = set()

    def add(self, cut: Certificate) -> None:
        """Rule out numbers of sticks that are worth less than all pieces."""
        self._program.add(cut)

    def cost(self, numbers: Numbers) -> int:
        """Return what so many sticks cost."""
        return sum(cost * n for cost, n in zip(self._costs, numbers, strict=True))

    def cheapest(self, below: int, work: int, watch: Watch) -> tuple[int, Numbers | None]:
        """Return a bound on the cost of all numbers neither ruled out nor returned before, and the cheapest of them.

        Costs from ``below`` on are of no interest. Where all cost that much, or ``work`` boxes did not
        decide, or ``watch`` stopped it, there are no numbers.
        """
        narrowed = self._program.narrowed(self._box, below)
        if narrowed is None:
            return below, None
        self._box = narrowed
        if narrowed.size * narrowed.choices <= LISTED:
            return self._first(narrowed, below, watch)
        return self._search(below, work, watch)

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

    def _search(self, below: int, work: int, watch: Watch) -> tuple[int, Numbers | None]:
        """Branch and bound, best bound first and the newest box among equals."""
        for _ in range(work):
            if not self._heap or self._heap[0][0] >= below:
                return below, None
            if watch.stopped:
                break
            bound, _, box = heappop(self._heap)
            if box.single and bound == self.cost(box.least) and self._open(box.least):
                return self._give(box.least)
            for part in self._parts(box):
                self._push(part, below)
        return (self._heap[0][0] if self._heap else below), None

    def _push(self, box: Box, below: int) -> None:
        bound = self.cost(box.least) if box.single else box.bound
        if bound < below and (not box.single or self._open(box.least)):
            self._serial -= 1
            heappush(self._heap, (bound, self._serial, box))

    def _open(self, numbers: Numbers) -> bool:
        return numbers not in self._given and not any(rules_out(cut, numbers) for cut in self._program.cuts)

    def _parts(self, box: Box) -> Iterator[Box]:
        """Split a box at the point of its linear program: where a number is a fraction, else around the point."""
        if box.single:
            return
        bound, point = self._program.least(self._costs, box)
        bound = max(box.bound, bound)
        widest = max(range(len(point)), key=lambda k: (_fraction(point[k]), box.most[k] - box.least[k]))
        whole = floor(point[widest] + 1e-6)
        if _fraction(point[widest]) > 1e-6:
            yield box.part(bound, widest, box.least[widest], whole)
            yield box.part(bound, widest, whole + 1, box.most[widest])
            return
        numbers = tuple(round(x) for x in point)
        yield Box(bound, numbers, numbers)
        for least, most in ((whole, whole), (box.least[widest], whole - 1), (whole + 1, box.most[widest])):
            if least <= most:
                yield box.part(bound, widest, least, most)


def _fraction(amount: float) -> float:
    return abs(amount - round(amount))
