"""How far a plan is from a bound that is worked out here, whoever made the plan and whatever it claims.

Any values of pieces prove some bound (``solver.checking.bound``), so simple ones are tried: length, and values that
make more of pieces which fill a stick badly, dual feasible functions. Those of Fekete and Schepers (2001, "New classes
of fast lower bounds for bin packing problems", Mathematical Programming 91) round a piece to parts of a stick, or
count long ones for a whole stick and short ones for nothing. What each proves is worked out in whole numbers; where
none proves much, the plan may be better than the distance says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.checking.bench import Bench
from solver.checking.bound import judge_bound, possible, supplies_of
from solver.checking.wanted import Wanted
from solver.proof import Basis, PieceValue, Proof

MOST_LENGTHS = 4
"""Stock lengths that values are made for, the longest first."""
MOST_PARTS = 6
"""Parts of a stick that pieces are rounded to, from 2 on."""
MOST_KINDS = 60
"""Of more kinds of pieces than this only length is tried: the sums take too long."""
_BY_LENGTH = Proof("search", 1, (), "worked out by length")


def bound_of(bench: Bench) -> int | None:
    """Return what no plan of a material costs less than, in the plan's cost steps; no more than the plan's own cost.

    None where a piece that a stick could hold stays uncut: then less may be bought, and nothing is proven of it.
    """
    if _proves(bench, _BY_LENGTH, 0) is False:
        return None
    stated, best = bench.plan, 0
    if stated.bound and judge_bound(bench).basis is Basis.CERTIFIED:
        best = stated.bound
    for proof in _proofs(bench):
        if best == stated.cost:
            break
        best = _most_proven(bench, proof, best)
    return best


def _most_proven(bench: Bench, proof: Proof, best: int) -> int:
    """Return the largest bound up to the cost that values prove, ``best`` where they prove no more than that."""
    low, high = best, bench.plan.cost
    if not _proves(bench, proof, low + 1):
        return best
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if _proves(bench, proof, middle) else (low, middle - 1)
    return low


def _proves(bench: Bench, proof: Proof, bound: int) -> bool:
    tried = replace(bench.plan, bound=bound, proof=proof, least_uncut=True)
    return judge_bound(replace(bench, plan=tried)).basis is Basis.CERTIFIED


def _proofs(bench: Bench) -> Iterator[Proof]:
    """Yield what may prove a bound, the simplest first."""
    yield _BY_LENGTH
    supplies = supplies_of(bench)
    pieces = possible(bench, supplies)
    kinds = {(piece.in_stick, piece.needs_left, piece.needs_right) for piece in pieces}
    if not kinds or len(kinds) > MOST_KINDS:
        return
    kerf = bench.material.settings.kerf
    lengths = sorted({supply.length + kerf for supply in supplies if supply.limit != 0}, reverse=True)[:MOST_LENGTHS]
    for stick in lengths:
        for parts in range(2, MOST_PARTS + 1):
            yield _valued(pieces, [_rounded(piece.in_stick + kerf, stick, parts) for piece in pieces])
        for short in sorted({size for size, _, _ in kinds if 2 * (size + kerf) <= stick})[:MOST_PARTS]:
            yield _valued(pieces, [_thresholded(piece.in_stick + kerf, stick, short + kerf) for piece in pieces])


def _rounded(size: int, stick: int, parts: int) -> int:
    """Return a piece's value out of ``parts`` times a stick's length: rounded to parts, but where it is a whole one."""
    pieces = (parts + 1) * size
    return parts * size if pieces % stick == 0 else stick * (pieces // stick)


def _thresholded(size: int, stick: int, short: int) -> int:
    """Return a piece's value: the stick's where nothing but short ones fits beside it, none for a short one."""
    return stick if size > stick - short else 0 if size < short else size


def _valued(pieces: Sequence[Wanted], values: Sequence[int]) -> Proof:
    told = {
        (piece.in_stick, piece.needs_left, piece.needs_right): value
        for piece, value in zip(pieces, values, strict=True)
    }
    return Proof("duals", 1, tuple(PieceValue(*kind, value) for kind, value in told.items()), "worked out by values")
