"""Where every piece hangs: the stretches of each wall, course by course, with their pieces in wall positions."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.drawing.lettering import Tags
from solver.allowances import of_pieces
from solver.job import Job
from solver.materials import Material
from solver.plan import Cut, CutPlan, MaterialPlan
from solver.required import Edge, Required, Ripped, Side, Slope
from solver.runs import PieceCutOut, Run
from solver.sticks import PlacedPiece, runs_of

Source = tuple[str, int]
"""A stick and which of its cuts, from 1."""


@dataclass(frozen=True, slots=True)
class _Found:
    tag: str
    short: str
    placed: PlacedPiece
    cut: Cut


@dataclass(frozen=True, slots=True)
class Hung:
    """One piece on its wall: its tag, where its left end lies, its stick and cut, and what is cut out of it.

    ``label`` is what it is called on its wall's own sheet, in few letters.
    """

    tag: str
    label: str
    left: int
    cut: Cut
    stick: str
    place: int
    cut_outs: tuple[PieceCutOut, ...]

    @property
    def right(self) -> int:
        """Where its right end lies, in ticks along the wall."""
        return self.left + self.cut.length

    @property
    def holes(self) -> tuple[str, ...]:
        """What is cut out of it, in a word each."""
        return tuple(dict.fromkeys("hole" if c.cut_out.edge is Edge.HOLE else "notch" for c in self.cut_outs))


@dataclass(frozen=True, slots=True)
class Covered:
    """One stretch of one course: the item, the measured stretch from ``start``, its pieces from the left, its laps.

    ``on_top`` says for each lap which of its two panels lies on top.
    """

    required: Required
    course: int | None
    pieces: tuple[Hung, ...]
    laps_at: tuple[int, ...]
    on_top: tuple[Side, ...]

    @property
    def start(self) -> int:
        """The left end of the measured stretch."""
        return self.required.start

    @property
    def end(self) -> int:
        """The right end of the measured stretch."""
        return self.required.start + self.required.length

    def peak_under(self, exposure: int) -> int | None:
        """Return how high its two slopes meet, where that is within a course of ``exposure``, in ticks."""
        if len(self.pieces) != 1:
            return None
        return peak(self.required.left_end.slope, self.required.right_end.slope, self.pieces[0].cut.length, exposure)


def peak(left: Slope | None, right: Slope | None, length: int, exposure: int) -> int | None:
    """Return how high above their common long edge two slopes meet; None where a course ends below that.

    They run together by 1 / pitch for every tick up (geometry).
    """
    if left is None or right is None or not left.long_edge is right.long_edge is Edge.BOTTOM:
        return None
    if left.upright or right.upright:
        return None
    height = int(length / (1 / left.pitch + 1 / right.pitch))
    return height if height < exposure else None


@dataclass(frozen=True, slots=True)
class WallLayout:
    """One wall with what covers it, courses from the lowest; ``id`` is None for runs that name no wall.

    ``heights`` are courses with the height of their lower lip on the house's story pole, where it was measured;
    ``exposure`` is what a course covers, in ticks.
    """

    id: str | None
    viewed_from: Side | int | None
    stretches: tuple[Covered, ...]
    heights: tuple[tuple[int, int], ...] = ()
    exposure: int | None = None


@dataclass(frozen=True, slots=True)
class Shape:
    """What makes a piece other than a straight length: sloped ends, rips, and what is cut out of it."""

    piece: Hung
    left: Slope | None
    right: Slope | None
    rips: tuple[Ripped, ...]

    @property
    def is_drawn(self) -> bool:
        """Whether words alone don't tell it."""
        return bool(self.left or self.right or self.piece.cut_outs)

    @property
    def words(self) -> tuple[str, ...]:
        """What is to be done to it, in a word each."""
        sloped = [side for side, slope in (("left", self.left), ("right", self.right)) if slope]
        ends = [f"sloped {' and '.join(sloped)}"] * bool(sloped)
        return (*ends, *["rip"] * bool(self.rips), *self.piece.holes)


def shapes_of(job: Job, plan: CutPlan) -> dict[Source, Shape]:
    """Return every piece that is no straight length, by its stick and which of its cuts it is, from 1."""
    shaped = {item for item, required in enumerate(job.required) if _may_be_shaped(required)}
    walls = (stretch for wall in layouts_of(job, plan, shaped) if wall.id is not None for stretch in wall.stretches)
    found: dict[Source, Shape] = {}
    for stretch in (*walls, *off_walls(job, plan, shaped)):
        required, last = stretch.required, len(stretch.pieces) - 1
        for n, piece in enumerate(stretch.pieces):
            left = required.left_end.slope if n == 0 else None
            right = required.right_end.slope if n == last else None
            shape = Shape(piece, left, right, required.rips_in(stretch.course))
            if shape.words:
                found[piece.stick, piece.place] = shape
    return found


def _may_be_shaped(required: Required) -> bool:
    return bool(required.left_end.slope or required.right_end.slope or required.rips or required.cut_outs)


def layouts_of(job: Job, plan: CutPlan, items: Collection[int] | None = None) -> tuple[WallLayout, ...]:
    """Return every wall that the plan covers, in the order of the request, then the runs that name none.

    With ``items`` only what these cover.
    """
    tags = Tags.of(job, plan)
    covered = [
        stretch
        for part in plan.materials
        for stretch in (*_runs(job, part, tags, items), *_singles(job, part, tags, items, walls=True))
    ]
    covered.sort(key=lambda c: (c.course or 0, c.start))
    viewed = {wall.id: wall.viewed_from for wall in job.walls}
    ids = dict.fromkeys([*viewed, *(c.required.wall for c in covered if c.required.wall is not None), None])
    every = (WallLayout(i, viewed.get(i or ""), tuple(c for c in covered if c.required.wall == i)) for i in ids)
    return tuple(wall for wall in every if wall.stretches)


def off_walls(job: Job, plan: CutPlan, items: Collection[int] | None = None) -> tuple[Covered, ...]:
    """Return every run and single piece that names no wall, in the order of the request's items; of ``items`` only."""
    tags = Tags.of(job, plan)
    every = (
        c for p in plan.materials for c in (*_runs(job, p, tags, items), *_singles(job, p, tags, items, walls=False))
    )
    order = {id(required): place for place, required in enumerate(job.required)}
    return tuple(sorted((c for c in every if c.required.wall is None), key=lambda c: order[id(c.required)]))


def _runs(job: Job, plan: MaterialPlan, tags: Tags, items: Collection[int] | None) -> Iterator[Covered]:
    wanted = [run for run in plan.runs if items is None or run.item in items]
    cuts = dict(_cuts(plan, tags, {run.item for run in wanted}))
    return (_run(job.required[run.item], run, cuts) for run in wanted)


def _singles(
    job: Job, plan: MaterialPlan, tags: Tags, items: Collection[int] | None, *, walls: bool
) -> Iterator[Covered]:
    """Yield what is laid in no run: on walls, or else off them."""
    material = next(m for m in job.materials if m.id == plan.material)
    every = {item for item, required in enumerate(job.required) if (required.wall is not None) is walls}
    wanted = every.intersection(every if items is None else items).difference(run.item for run in plan.runs)
    for source, found in _cuts(plan, tags, wanted):
        yield _single(job.required[found.placed.item], source, found, material)


def _cuts(plan: MaterialPlan, tags: Tags, items: Collection[int]) -> Iterator[tuple[Source, _Found]]:
    """Yield the pieces of some items; what only others are cut from is not looked at, for it may be most of a plan."""
    for use in plan.patterns:
        for run in runs_of(use.sticks):
            places = [place for place, piece in enumerate(run.pieces) if piece.item in items]
            for stick in (run.at(n) for n in range(run.count if places else 0)):
                for place in places:
                    piece = stick.pieces[place]
                    found = _Found(tags.tag(piece), tags.short(piece), piece, use.cuts[place])
                    yield (stick.stick, place + 1), found


def _run(required: Required, run: Run, cuts: Mapping[Source, _Found]) -> Covered:
    sources = [(piece.stick, piece.cut) for piece in run.pieces]
    lefts = [run.starts_at, *run.laps_at]
    pieces = tuple(
        _hung(cuts[source], source, left, [c for c in run.cut_outs if c.piece == number])
        for number, (source, left) in enumerate(zip(sources, lefts, strict=True), 1)
    )
    return Covered(required, run.course, pieces, run.laps_at, run.on_top)


def _single(required: Required, source: Source, found: _Found, material: Material) -> Covered:
    left = of_pieces(material).starts_at(required.start, required.left_end.meets)
    right = left + found.cut.length
    course = found.placed.course
    cut_outs = [c for c in required.cut_outs if c.course in (None, course)]
    given_back = [PieceCutOut(1, c.start - left, right - c.end, c) for c in cut_outs]
    return Covered(required, course, (_hung(found, source, left, given_back),), (), ())


def _hung(found: _Found, source: Source, left: int, cut_outs: Sequence[PieceCutOut]) -> Hung:
    return Hung(found.tag, found.short or found.tag, left, found.cut, *source, tuple(cut_outs))


def hanging_order(stretch: Covered) -> tuple[Hung, ...]:
    """Return the pieces of a stretch in the order of hanging: at every lap the one that lies under goes first."""
    under = [(n, n + 1) if side is Side.RIGHT else (n + 1, n) for n, side in enumerate(stretch.on_top)]
    waiting, order = list(range(len(stretch.pieces))), []
    while waiting:
        held = {then for first, then in under if first in waiting}
        order.append(next(n for n in waiting if n not in held))
        waiting.remove(order[-1])
    return tuple(stretch.pieces[n] for n in order)
