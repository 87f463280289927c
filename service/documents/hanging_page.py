"""The hanging pages: wall by wall and course by course, every piece in the order in which it goes up.

A panel is cut when its first piece is needed and its other pieces are set aside, so that no step asks for a
piece that is not made yet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from service.documents.blocks import BOX, Block, Column, Figure, Heading, Page, Paragraph, Table
from service.documents.cutting_page import rip_words
from service.drawing.course_row import lettered
from service.drawing.lap_map import draw_wall, name_of
from service.drawing.layout import Covered, Hung, WallLayout, hanging_order, layouts_of, off_walls
from service.drawing.lettering import Tags, clean, names
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import Category
from solver.plan import CutEnd, CutPlan, PatternUse, PieceCutOut, StickUse
from solver.required import Edge

_STEPS = (
    Column("", 4), Column("Step", 7), Column("Course", 8), Column("Piece", 15),
    Column("Cut length", 15), Column("Field-cut end", 19), Column("From panel or stick", 55),
)  # fmt: skip
_TRIM = (
    Column("", 4), Column("Steps", 11), Column("Piece", 15), Column("Cut length", 15), Column("Where", 32),
    Column("From panel or stick", 46),
)  # fmt: skip
_CUT_OUTS = (
    Column("", 5), Column("Piece", 14), Column("From its left end", 19), Column("Wide", 14),
    Column("From its right end", 19), Column("What", 53),
)  # fmt: skip
_PUT_UP_FIRST = (Category.STARTER, Category.POST, Category.CHANNEL, Category.OTHER, Category.SOFFIT)
"""Trim holds the panels, so it is up before them: starter and posts, channel at openings and ceilings and utility
trim, drip caps, then the soffit in its channel (common practice; soffit before the last course of siding: Polymeric
Exteriors Association, installation manual, soffit)."""


@dataclass(frozen=True, slots=True)
class Step:
    """One piece to hang: its number over the whole job, its stretch, and what is said of where it comes from."""

    number: int
    stretch: Covered
    piece: Hung
    source: str


def hanging_pages(job: Job, plan: CutPlan) -> Iterator[Page]:
    """Yield what goes up before the panels, then a page for each wall: its lap map, the steps, and the cut-outs."""
    walls = layouts_of(job, plan)
    if any(wall.id is not None for wall in walls):
        first, rest = before_and_after(job, plan)
        walls = (first, *(wall for wall in walls if wall.id is not None), rest)
    steps = list(steps_of(walls, plan, job.units))
    for wall in (wall for wall in walls if wall.stretches):
        own = [step for step in steps if step.stretch in wall.stretches]
        if wall.id is None and len(walls) > 1:
            yield _off_walls(wall, own, job.units, first=wall is walls[0])
        else:
            yield _on_wall(wall, own, job, plan)


def _on_wall(wall: WallLayout, own: Sequence[Step], job: Job, plan: CutPlan) -> Page:
    rows = tuple(_row(step, job.units) for step in own)
    blocks: list[Block] = [Figure(draw_wall(wall, job.units, plan.warnings))]
    blocks += [*_noted(wall, plan, job.units), Heading("In the order of hanging"), Table(_STEPS, rows)]
    return Page(f"To hang: {name_of(wall)}", (*blocks, *_cut_outs(wall, job.units)))


def before_and_after(job: Job, plan: CutPlan) -> tuple[WallLayout, WallLayout]:
    """Return what names no wall: what goes up before the panels, in its order, and panels that go up after."""
    loose, kinds = off_walls(job, plan), {m.id: m.category for m in job.materials}
    trim = [c for c in loose if kinds[c.required.material] in _PUT_UP_FIRST]
    trim.sort(key=lambda c: _PUT_UP_FIRST.index(kinds[c.required.material]))
    panels = tuple(c for c in loose if kinds[c.required.material] not in _PUT_UP_FIRST)
    return WallLayout(None, None, tuple(trim)), WallLayout(None, None, panels)


def _off_walls(wall: WallLayout, own: Sequence[Step], unit: Unit, *, first: bool) -> Page:
    """Return what is put up off the walls; pieces alike of one item share a row."""
    lapped = tuple(stretch for stretch in wall.stretches if stretch.laps_at)
    drawn = [Figure(draw_wall(WallLayout(None, None, lapped), unit))] if lapped else []
    alike = groupby(own, key=lambda step: (step.stretch.required, step.piece.cut.length))
    rows = tuple(_together(list(steps), unit) for _, steps in alike)
    title = "To put up first: trim and soffit" if first else "To hang: without a wall"
    words = Paragraph("Where a course is held by utility trim, the trim is up before it.") if first else None
    return Page(title, (*([words] if words else []), *drawn, Table(_TRIM, rows), *_cut_outs(wall, unit)))


def _together(steps: Sequence[Step], unit: Unit) -> tuple[str, ...]:
    one, last = steps[0], steps[-1]
    numbers = str(one.number) if one is last else f"{one.number} to {last.number}"
    pieces = one.piece.tag if one is last else f"{len(steps)} of {one.stretch.required.mark}"
    source = one.source if one is last else names(dict.fromkeys(step.piece.stick for step in steps))
    rips = [rip_words(rip, unit) for rip in one.stretch.required.rips]
    where = "; ".join([clean(one.stretch.required.ref or ""), *rips])
    return BOX, numbers, clean(pieces), say(one.piece.cut.length, unit), where, source


def _noted(wall: WallLayout, plan: CutPlan, unit: Unit) -> Iterator[Block]:
    for notice in plan.warnings:
        if wall.id is not None and notice.wall == wall.id:
            at = "" if notice.place is None else f", at {say(notice.place, unit)}"
            course = "" if notice.course is None else f"course {notice.course}{at}: "
            yield Paragraph(f"! {course}{clean(notice.detail)}")


def steps_of(walls: tuple[WallLayout, ...], plan: CutPlan, unit: Unit) -> Iterator[Step]:
    """Yield every piece of every wall in the order of hanging, numbered through from 1."""
    sticks = {stick.stick: _Stick(use, stick, Tags.of(part)) for part in plan.materials for use, stick in part.sticks()}
    cut_at: dict[str, int] = {}
    hung = ((stretch, piece) for wall in walls for stretch in wall.stretches for piece in hanging_order(stretch))
    for number, (stretch, piece) in enumerate(hung, 1):
        at = cut_at.setdefault(piece.stick, number)
        made = at < number
        source = f"{piece.stick}, set aside at step {at}" if made else sticks[piece.stick].cut_for(piece, unit)
        yield Step(number, stretch, piece, source)


@dataclass(frozen=True, slots=True)
class _Stick:
    """A stick with its pattern and how its pieces are tagged."""

    use: PatternUse
    stick: StickUse
    tags: Tags

    def cut_for(self, piece: Hung, unit: Unit) -> str:
        """Return what to do with the stick when the first of its pieces is hung."""
        whose = f" (on hand: {clean(self.stick.offcut_id)})" if self.stick.offcut_id else ""
        others = [self.tags.tag(p) for place, p in enumerate(self.stick.pieces, 1) if place != piece.place]
        words = [f"set aside {', '.join(others)}"] if others else []
        if self.use.left_over.keep:
            words.append(f"keep {say(self.use.left_over.length, unit)}")
        whole = len(self.stick.pieces) == 1 and self.use.cuts[0].length == self.use.stock_length
        return "; ".join([f"{self.stick.stick}{whose}, {'whole' if whole else 'cut it'}", *words])


def _row(step: Step, unit: Unit) -> tuple[str, ...]:
    course = "" if step.stretch.course is None else str(step.stretch.course)
    length, ends = say(step.piece.cut.length, unit), _cut_ends(step.stretch, step.piece)
    rips = [rip_words(rip, unit) for rip in step.stretch.required.rips_in(step.stretch.course)]
    return BOX, str(step.number), course, step.piece.tag, length, ends, "; ".join([step.source, *rips])


def _cut_ends(stretch: Covered, piece: Hung) -> str:
    """Return which ends of a piece are cut on site, and which of them to a slope."""
    cut, required = piece.cut, stretch.required
    ends = (
        ("left", cut.left, required.left_end.slope if piece is stretch.pieces[0] else None),
        ("right", cut.right, required.right_end.slope if piece is stretch.pieces[-1] else None),
    )
    words = [f"{side}{' sloped' * bool(slope)}" for side, end, slope in ends if slope or end is CutEnd.FIELD]
    return " and ".join(words) or "none"


def _cut_outs(wall: WallLayout, unit: Unit) -> Iterator[Block]:
    letters = lettered(wall)
    if letters:
        pieces = {piece.tag: piece for stretch in wall.stretches for piece in stretch.pieces}
        rows = [_cut_out(letter, pieces[name], cut_out, unit) for (name, cut_out), letter in letters.items()]
        yield Heading("Cut-outs, from each piece's own ends")
        yield Table(_CUT_OUTS, tuple(rows))


def _cut_out(letter: str, piece: Hung, cut_out: PieceCutOut, unit: Unit) -> tuple[str, ...]:
    left, right = max(0, cut_out.from_left), max(0, cut_out.from_right)
    wide = piece.cut.length - left - right
    height = say(cut_out.cut_out.height, unit)
    what = {
        Edge.TOP: f"from the top edge down to {height} above the lower lip",
        Edge.BOTTOM: f"from the lower lip up to {height}",
        Edge.HOLE: f"hole, its lower edge {height} above the lower lip",
    }[cut_out.cut_out.edge]
    return letter, piece.tag, say(left, unit), say(wide, unit), say(right, unit), what
