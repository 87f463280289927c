"""What is still to be cut of a dated problem while a plan is made, and what there still is to cut it from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from solver.cutting.problem import Pattern
from solver.weekly.dated import DatedProblem


class Remaining:
    """Pieces wanted, sticks left, and the room in the van, which several materials share."""

    def __init__(self, problem: DatedProblem, room: dict[int, int]) -> None:
        self.problem, self.room = problem, room
        self.demands = [piece.demand for piece in problem.pieces]
        self.limits = [supply.limit for supply in problem.supplies]

    def fits(self, pattern: Pattern, times: int) -> bool:
        """Whether a pattern can be cut so often without a piece, a stick or an offcut in the van too many."""
        limit = self.limits[pattern.stick]
        return (
            all(self.demands[i] >= copies * times for i, copies in Counter(pattern.pieces).items())
            and (limit is None or limit >= times)
            and all(self.room.get(night, times) >= times for night in self.problem.nights(pattern))
        )

    def take(self, pattern: Pattern, times: int) -> None:
        """Cut a pattern so often; pieces cut too often are no longer wanted, no less."""
        for i, copies in Counter(pattern.pieces).items():
            self.demands[i] = max(0, self.demands[i] - copies * times)
        limit = self.limits[pattern.stick]
        if limit is not None:
            self.limits[pattern.stick] = max(0, limit - times)
        for night in self.problem.nights(pattern):
            if night in self.room:
                self.room[night] -= times

    def take_all(self, uses: Mapping[Pattern, int]) -> None:
        """Cut a whole plan."""
        for pattern, times in uses.items():
            self.take(pattern, times)
