"""The best plan of a small problem by trying every one, from the words of ``CuttingProblem`` alone."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import product

from solver.cutting import CuttingProblem, Stick

Held = tuple[int, ...]
"""How many of each piece a stick holds."""


def holds(problem: CuttingProblem, stick: Stick, held: Held) -> bool:
    """Whether a stick yields so many of each piece."""
    chosen = [piece for piece, copies in zip(problem.pieces, held, strict=True) for _ in range(copies)]
    if any(piece.left and piece.right for piece in chosen):
        return len(chosen) == 1 and stick.left and stick.right and chosen[0].length == stick.length
    lefts, rights = sum(piece.left for piece in chosen), sum(piece.right for piece in chosen)
    length = sum(piece.length for piece in chosen) + problem.kerf * (len(chosen) - 1)
    return bool(chosen) and lefts <= stick.left and rights <= stick.right and length <= stick.length


def every_pattern(problem: CuttingProblem) -> list[list[Held]]:
    """Return for each stick all it can yield, no piece more often than it is wanted."""
    spans = [range(piece.demand + 1) for piece in problem.pieces]
    return [[held for held in product(*spans) if holds(problem, stick, held)] for stick in problem.sticks]


def best_by_trying(problem: CuttingProblem) -> tuple[int, int]:
    """Return the least total length left uncut, and the least cost of leaving that much."""
    patterns = every_pattern(problem)

    @cache
    def best(wanted: Held, limits: Held) -> tuple[int, int]:
        first = next((i for i, copies in enumerate(wanted) if copies), None)
        if first is None:
            return 0, 0
        length, cost = best(_without(wanted, _one(len(wanted), first)), limits)
        plans = [(length + problem.pieces[first].length, cost)]
        for k, held in _useful(patterns, wanted, limits, first):
            length, cost = best(_without(wanted, held), _without(limits, _one(len(limits), k)))
            plans.append((length, cost + problem.sticks[k].cost))
        return min(plans)

    most = sum(piece.demand for piece in problem.pieces)
    limits = tuple(most if stick.limit is None else stick.limit for stick in problem.sticks)
    return best(tuple(piece.demand for piece in problem.pieces), limits)


def _useful(patterns: list[list[Held]], wanted: Held, limits: Held, first: int) -> Iterator[tuple[int, Held]]:
    for k, listed in enumerate(patterns):
        if limits[k]:
            for held in listed:
                if held[first] and all(n <= most for n, most in zip(held, wanted, strict=True)):
                    yield k, held


def _one(size: int, place: int) -> Held:
    return tuple(int(i == place) for i in range(size))


def _without(amounts: Held, taken: Held) -> Held:
    return tuple(a - t for a, t in zip(amounts, taken, strict=True))


def faults(problem: CuttingProblem, uses: tuple[tuple[tuple[int, tuple[int, ...]], int], ...]) -> Iterator[str]:
    """Yield what is wrong with ``((stick, pieces), times)`` uses."""
    for (k, pieces), times in uses:
        held = tuple(pieces.count(i) for i in range(len(problem.pieces)))
        if times < 1 or not holds(problem, problem.sticks[k], held):
            yield f"stick {k} does not hold {pieces} {times} times"
    for k, stick in enumerate(problem.sticks):
        if stick.limit is not None and sum(times for (j, _), times in uses if j == k) > stick.limit:
            yield f"more of stick {k} than there are"
