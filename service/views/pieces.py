"""Every piece of a plan by itself: what it is called, what it is, which stick it comes from, and where it goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from service.drawing.layout import Shape, hanging_order, layouts_of, off_walls, shapes_of
from service.drawing.lettering import Tags, clean
from service.views.facts import factory_ends, material_of
from solver.categories import LapEnds
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import CutEnd, CutPlan, MaterialPlan
from solver.required import Required

_FACTORY = CutEnd.FACTORY


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece. ``id`` is its stick and which cut of it; ``where`` says in words where it goes.

    ``ends`` says which of its ends are factory ends, where that matters; ``from_right`` that it is measured from the
    right end of its stick, beyond what is left over; ``turn`` counts the pieces in the order in
    which they are put up, from 1.
    """

    id: str
    name: str
    material: str
    length: int
    stick: str
    stick_length: int
    cut: int
    wall: str | None
    course: int | None
    where: str
    shape: tuple[str, ...]
    ends: str
    from_right: bool
    turn: int

    @property
    def is_named_by_place(self) -> bool:
        """Whether its name says already where it goes: wall, course, and which from the left."""
        return self.wall is not None and self.course is not None


@dataclass(frozen=True, slots=True)
class KeptOffcut:
    """What is left of a stick and kept: its name in addresses, and what is to be known of it to use it."""

    id: str
    material: str
    length: int
    stick: str
    ends: str


def pieces_of(job: Job, plan: CutPlan) -> tuple[Piece, ...]:
    """Return every piece of a plan, material by material and stick by stick."""
    tags, shapes, turns = Tags.of(job, plan), shapes_of(job, plan), _turns(job, plan)
    return tuple(_pieces(job, plan, tags, shapes, turns))


def _pieces(
    job: Job, plan: CutPlan, tags: Tags, shapes: dict[tuple[str, int], Shape], turns: dict[tuple[str, int], int]
) -> Iterator[Piece]:
    for part in plan.materials:
        for use, stick in part.sticks():
            for cut, (piece, made) in enumerate(zip(stick.pieces, use.cuts, strict=True), 1):
                key, required = (stick.stick, cut), job.required[piece.item]
                shape = shapes[key].words if key in shapes else ()
                yield Piece(
                    piece_id(*key), tags.tag(piece), part.material, made.length, stick.stick, use.stock_length, cut,
                    required.wall, piece.course, _where(required, piece.course), shape,
                    _ends(job, part, FactoryEnd.of(left=made.left is _FACTORY, right=made.right is _FACTORY)),
                    bool(use.left_over.length) and cut > use.left_over.after, turns.get(key, 0),
                )  # fmt: skip


def offcuts_of(job: Job, plan: CutPlan) -> Iterator[KeptOffcut]:
    """Yield every offcut that is kept, stick by stick."""
    for part in plan.materials:
        for use, stick in part.sticks():
            left = use.left_over
            if left.keep:
                ends = _ends(job, part, left.factory_end)
                yield KeptOffcut(f"{stick.stick}-keep", part.material, left.length, stick.stick, ends)


def _ends(job: Job, part: MaterialPlan, end: FactoryEnd) -> str:
    settings = material_of(job, part.material).settings
    return "" if settings.lap_ends is LapEnds.ANY else factory_ends(end)


def piece_id(stick: str, cut: int) -> str:
    """Return what a piece is called in addresses and in the record."""
    return f"{stick}-{cut}"


def kept_label(number: str, stick: str) -> str:
    """Return what is written on the offcut that a stick of a plan leaves: its label on the rack."""
    return f"{number}-{stick}"


def _where(required: Required, course: int | None) -> str:
    wall = f"wall {clean(required.wall)}" if required.wall else ""
    row = f"course {course}" if course is not None else ""
    return ", ".join(filter(None, [wall, row, clean(required.ref or "")]))


def _turns(job: Job, plan: CutPlan) -> dict[tuple[str, int], int]:
    """Return which piece is put up when: what names no wall first, then wall by wall from the lowest course."""
    walls = (stretch for wall in layouts_of(job, plan) if wall.id is not None for stretch in wall.stretches)
    hung = (piece for stretch in (*off_walls(job, plan), *walls) for piece in hanging_order(stretch))
    return {(piece.stick, piece.place): turn for turn, piece in enumerate(hung, 1)}
