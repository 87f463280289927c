"""From the integer answer to filled sticks: which piece of which item every stick gives."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

from solver.cutting.problem import Cutting, Duals
from solver.demand import Demand, Kind, Source
from solver.job import Notice
from solver.laps.problem import Cover, LapRun
from solver.plan import NotCut, PieceValue, PlacedPiece, Proof
from solver.shortfall import shortfalls


@dataclass(frozen=True, slots=True)
class FilledStick:
    """One stick: where it comes from, and its pieces from the left end with whom each is for.

    ``after`` is how many cuts what is left must lie behind, for the sake of its end; None leaves that open.
    """

    source: Source
    cuts: tuple[tuple[Kind, PlacedPiece], ...]
    after: int | None = None

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds of its pieces, from the left end."""
        return tuple(kind for kind, _ in self.cuts)


@dataclass(frozen=True, slots=True)
class Filled:
    """One material's answer before it is written out: its sticks, cost and bound in cost steps, and the rest.

    ``exhausted``: the search for a cheaper plan came to its own end.
    """

    sticks: tuple[FilledStick, ...]
    cost: int
    bound: int
    least_uncut: bool
    proof: Proof
    not_cut: tuple[NotCut, ...]
    notices: tuple[Notice, ...] = ()
    runs: tuple[LapRun, ...] = ()
    covers: tuple[Cover, ...] = ()
    exhausted: bool = False


def fill(demand: Demand, answer: Cutting) -> Filled:
    """Deal every kind's pieces to the answer's patterns, in the order of the items."""
    waiting = [deque(claims) for claims in demand.claims]
    sticks = tuple(
        FilledStick(
            demand.sources[pattern.stick],
            in_cutting_order((demand.kinds[k], waiting[k].popleft()) for k in pattern.pieces),
        )
        for pattern, uses in sorted(answer.uses)
        for _ in range(uses)
    )
    not_cut = tuple(shortfalls(demand, answer.uncut))
    return Filled(
        sticks=sticks,
        cost=answer.cost,
        bound=answer.bound,
        least_uncut=answer.least_uncut,
        proof=_proof(demand, answer),
        not_cut=not_cut,
        exhausted=answer.exhausted,
    )


def in_cutting_order(cuts: Iterable[tuple[Kind, PlacedPiece]]) -> tuple[tuple[Kind, PlacedPiece], ...]:
    """Order a stick's pieces from its left end: what needs that end, the longest first, then what needs the right."""

    def place(cut: tuple[Kind, PlacedPiece]) -> tuple[int, int, int]:
        kind, _ = cut
        return (0 if kind.needs_left else 2 if kind.needs_right else 1), -kind.length, kind.room

    return tuple(sorted(cuts, key=place))


def _proof(demand: Demand, answer: Cutting) -> Proof:
    if not isinstance(answer.proof, Duals):
        return Proof("search", text=answer.proof.text)
    values = (
        PieceValue(kind.takes, kind.needs_left, kind.needs_right, value)
        for kind, value in zip(demand.kinds, answer.proof.values, strict=True)
    )
    return Proof("duals", answer.proof.scale, tuple(values), further=answer.proof.further)
