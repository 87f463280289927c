"""Every allowed dated pattern, where there are not too many of them."""

from __future__ import annotations

from collections.abc import Iterator

from solver.cutting.problem import Pattern
from solver.weekly.dated import DatedProblem, Supply


class TooMany(Exception):
    """There are more patterns, or more steps to find them, than allowed."""


def every_pattern(problem: DatedProblem, steps: int) -> list[Pattern]:
    """List every allowed pattern that holds no piece oftener than wanted. Raises ``TooMany`` beyond ``steps`` steps."""
    order = sorted(range(len(problem.pieces)), key=lambda i: (problem.pieces[i].day, -problem.pieces[i].length))
    walk = _Walk(problem, order, steps)
    return [
        pattern
        for place, supply in enumerate(problem.supplies)
        if supply.limit != 0
        for chosen in walk.fill(supply, 0, supply.length, [])
        if problem.allowed(pattern := Pattern(place, tuple(sorted(chosen))))
    ]


class _Walk:
    def __init__(self, problem: DatedProblem, order: list[int], steps: int) -> None:
        self._problem, self._order, self._steps = problem, order, steps

    def fill(self, supply: Supply, start: int, room: int, chosen: list[int]) -> Iterator[list[int]]:
        """Yield every way to go on from the pieces chosen, in the order of days."""
        self._steps -= 1
        if self._steps < 0:
            raise TooMany
        if chosen:
            yield list(chosen)
        for at in range(start, len(self._order)):
            i = self._order[at]
            piece = self._problem.pieces[i]
            later = bool(chosen) and piece.day > self._problem.pieces[chosen[-1]].day
            if piece.day < supply.first or (later and room < self._problem.shortest):
                continue
            most = min(piece.demand, 1 if piece.left or piece.right else piece.demand)
            for n in range(1, most + 1):
                left = room - n * (piece.length + self._problem.kerf)
                if left + self._problem.kerf < 0:
                    break
                yield from self.fill(supply, at + 1, left, [*chosen, *[i] * n])
