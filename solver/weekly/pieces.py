"""The pieces of one material over the week: kinds with their day, whom each piece is for, and what was announced."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from solver.cutting.problem import Pattern
from solver.demand import Kind
from solver.materials import Settings
from solver.plan import PlacedPiece
from solver.weekly.alone import AloneJob
from solver.weekly.dated import DatedPiece, DatedProblem
from solver.weekly.plan import WeekPlan
from solver.weekly.standing import Hand

Claim = tuple[str, PlacedPiece]
"""A piece of a job, by the job's id; the piece names the item by its place in the week's job."""
Signature = tuple[str, tuple[int, ...]]
"""A stick and its pieces, told apart by what it is called rather than by whether it is delivered yet."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """Dated kinds, and whom each piece is for (``claims[i]`` for ``kinds[i]``), in the order of the jobs."""

    kinds: tuple[tuple[Kind, int], ...]
    claims: tuple[tuple[Claim, ...], ...]

    def problem(self, hand: Hand, settings: Settings) -> DatedProblem:
        """Return the week as integers."""
        pieces = tuple(
            DatedPiece(kind.takes, len(claims), kind.needs_left, kind.needs_right, day)
            for (kind, day), claims in zip(self.kinds, self.claims, strict=True)
        )
        return DatedProblem(hand.supplies, pieces, settings.kerf, settings.keep_offcuts_from)


def pieces_of(alone: Iterable[AloneJob]) -> Pieces:
    """Gather the pieces of every job: those of its items, and those that its runs were laid in."""
    claims: dict[tuple[Kind, int], list[Claim]] = defaultdict(list)
    for one in alone:
        for kind, piece in _pieces(one):
            claims[kind, one.job.day].append(claim_of(one, piece))
    kinds = tuple(sorted(claims, key=lambda key: (key[1], -key[0].takes, key[0].room, *_needs(key[0]))))
    return Pieces(kinds, tuple(tuple(claims[key]) for key in kinds))


def patterns_alone(alone: Iterable[AloneJob], pieces: Pieces) -> Counter[Pattern]:
    """Return how the jobs alone are cut, as patterns of the week."""
    index = {key: i for i, key in enumerate(pieces.kinds)}
    return Counter(
        Pattern(place, tuple(sorted(index[kind, one.job.day] for kind in stick.kinds)))
        for one in alone
        for place, stick in zip(one.places, one.filled.sticks, strict=True)
    )


def announced_sticks(plan: WeekPlan, material: str, pieces: Pieces) -> Counter[Signature]:
    """Return the sticks of the sheets that may still change, with the pieces that are still wanted of them."""
    index = {_named(claim): i for i, claims in enumerate(pieces.claims) for claim in claims}
    chains: dict[str, tuple[str, list[int]]] = {}
    found: list[tuple[str, list[int]]] = []
    for day in (day for day in plan.days if not day.frozen):
        labels = {kept.stick: kept.label for kept in day.kept}
        for part in (part for part in day.plan.materials if part.material == material):
            for use, stick in part.sticks():
                chain = chains.pop(stick.offcut_id or "", None)
                if chain is None:
                    chain = (stick.offcut_id or f"stock {use.stock}", [])
                    found.append(chain)
                for piece in stick.pieces:
                    origin = day.origins[piece.item]
                    chain[1].append(index.get((origin.job, origin.item, piece.course, piece.piece), -1))
                if stick.stick in labels:
                    chains[labels[stick.stick]] = chain
    return Counter((name, tuple(sorted(places))) for name, places in found)


def _pieces(one: AloneJob) -> Iterator[tuple[Kind, PlacedPiece]]:
    for kind, claims in zip(one.demand.kinds, one.demand.claims, strict=True):
        yield from ((kind, claim) for claim in claims)
    for stick in one.filled.sticks:
        yield from ((kind, piece) for kind, piece in stick.cuts if piece.item in one.demand.runs)


def claim_of(one: AloneJob, piece: PlacedPiece) -> Claim:
    """Return whom a piece of a job planned alone is for."""
    origin = one.job.origins[piece.item]
    return one.job.id, PlacedPiece(origin.item, piece.mark, piece.course, piece.piece)


def _named(claim: Claim) -> tuple[str, int, int | None, int]:
    job, piece = claim
    return job, piece.item, piece.course, piece.piece


def _needs(kind: Kind) -> tuple[bool, bool]:
    return kind.needs_left, kind.needs_right
