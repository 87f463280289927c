"""Instances whose optimum is known by construction: sticks cut up at random, so that cutting them again needs no more.

After Falkenauer (1996): every stick is cut into exactly three pieces with nothing left, each between a
quarter and a half of it, so no fourth piece fits and every plan that is best is without waste.
"""

from __future__ import annotations

from collections import Counter
from random import Random

from solver.cutting import CuttingProblem, Piece, Stick


def triplets(sticks: int, length: int, seed: int) -> CuttingProblem:
    """Return pieces that come out of ``sticks`` sticks of ``length`` (a multiple of 4) with nothing left."""
    random = Random(seed)
    cut = Counter(piece for _ in range(sticks) for piece in _thirds(length, random))
    return CuttingProblem((Stick(length, 1),), tuple(Piece(n, d) for n, d in sorted(cut.items(), reverse=True)))


def _thirds(length: int, random: Random) -> tuple[int, int, int]:
    """Draw the longest first, then split the rest so that the pieces stay between a quarter and a half."""
    longest = random.randint(length * 38 // 100, length // 2 - 1)
    second = random.randint(length // 4, (length - longest) // 2)
    return longest, second, length - longest - second


def with_kerf(problem: CuttingProblem, kerf: int) -> CuttingProblem:
    """Return the same with every piece a kerf shorter and the kerf taken out by the saw instead.

    Three pieces lose two kerfs between them, so sticks shrink by one.
    """
    sticks = tuple(Stick(s.length - kerf, s.cost, s.limit) for s in problem.sticks)
    return CuttingProblem(sticks, tuple(Piece(p.length - kerf, p.demand) for p in problem.pieces), kerf)


def two_lengths(sticks: int, length: int, seed: int) -> CuttingProblem:
    """Return waste-free triplets of two stock lengths at cost by length, where every best plan is without waste.

    No plan can cost less than the pieces are long, and the sticks they were cut from cost just that.
    """
    short, long = triplets(sticks, length, seed), triplets(sticks, 2 * length, seed + 1)
    pieces = Counter({p.length: p.demand for p in short.pieces})
    pieces.update({p.length: p.demand for p in long.pieces})
    kinds = (Stick(length, length, sticks), Stick(2 * length, 2 * length, sticks))
    return CuttingProblem(kinds, tuple(Piece(n, d) for n, d in sorted(pieces.items(), reverse=True)))
