"""The cut sheet of a finished plan: the saw sheet, then a sheet for each wall. No prices: they stand on the order.

Here are the wall sheets: what goes up before the panels, then a page for each wall: its drawing, and the order of
hanging. Everything has been cut by the saw sheet and bears its name; here it is put up, course by course.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import groupby

from service.documents.blocks import BOX, Block, Column, Figure, Page, Paper, Paragraph, Sheet, Table, TitleBlock
from service.documents.cutting_page import boxes, cutting_pages, rip_words
from service.documents.laying import title
from service.documents.paging import height_of, room_on
from service.drawing.lap_map import draw_wall, name_of
from service.drawing.layout import Covered, Hung, WallLayout, hanging_order, layouts_of, off_walls
from service.drawing.lettering import clean, names, taped
from service.drawing.wall_paper import LOW_ROW, on_paper
from solver.categories import Category
from solver.job import Job
from solver.lengths import Unit
from solver.materials import AT_THE_SAW
from solver.plan import CutPlan
from solver.takeoff.pole import HousePole, Start


def sheet_of(
    job: Job, plan: CutPlan, block: TitleBlock, made: datetime, paper: Paper, pole: HousePole | None = None
) -> Sheet:
    """Return the sheet of a finished plan; its foot tells sheets of different orders apart.

    ``pole`` is the story pole of the house, where it was measured.
    """
    named = clean(block.job or job.name)
    pages = *cutting_pages(job, plan, exposure=pole.exposure if pole else None), *hanging_pages(job, plan, paper, pole)
    return Sheet(f"Cut sheet: {named}" if named else "Cut sheet", pages, block.whose, made, paper)


_LISTED = (Column("Course", 15), Column("In this order", 85))
_TRIM = (Column("Where", 24), Column("In this order", 76))
_MANY, _SHORT = 12, 48
"""So many courses, of so few letters each, are listed in two columns."""
_ROW_OF_BOXES = 10
_TOGETHER = "\N{NO-BREAK SPACE}"
_PUT_UP_FIRST = (Category.STARTER, Category.POST, Category.CHANNEL, Category.OTHER, Category.SOFFIT)
"""Trim holds the panels, so it is up before them: starter and posts, channel at openings and ceilings and utility
trim, drip caps, then the soffit in its channel (common practice; soffit before the last course of siding: Polymeric
Exteriors Association, installation manual, soffit)."""


def hanging_pages(job: Job, plan: CutPlan, paper: Paper, pole: HousePole | None = None) -> Iterator[Page]:
    """Yield what goes up before the panels, then a page for each wall: its drawing, and the order of hanging.

    ``pole`` is the story pole of the house, where it was measured.
    """
    walls = tuple(_measured(wall, pole) for wall in layouts_of(job, plan))
    if any(wall.id is not None for wall in walls):
        first, rest = before_and_after(job, plan)
        walls = (first, *(wall for wall in walls if wall.id is not None), rest)
    for wall in (wall for wall in walls if wall.stretches):
        if wall.id is None and len(walls) > 1:
            yield _off_walls(wall, job, plan, first=wall is walls[0])
        else:
            yield _on_wall(wall, job, plan, paper, pole)


def _measured(wall: WallLayout, pole: HousePole | None) -> WallLayout:
    """Return a wall with the heights of its courses on the pole."""
    courses = pole.courses if pole else ()
    own = ((number, course.height) for course in courses for named, number in course.walls if named == wall.id)
    return replace(wall, heights=tuple(own), exposure=pole.exposure if pole else None)


def _on_wall(wall: WallLayout, job: Job, plan: CutPlan, paper: Paper, pole: HousePole | None) -> Page:
    """Return a wall's page; its rows are as high as the list leaves room for.

    Of a wall that takes the whole page what is said comes after its drawing, or it would stand on a page alone.
    """
    heading, listed = f"To hang: {name_of(wall)}", _list(tuple(_courses(wall, job.units)))
    said: list[Block] = [*_cautions(plan), *_noted(wall, plan, job.units), *_on_pole(wall, pole, job.units)]
    taken = title(heading).height + sum(map(height_of, (*said, listed)))
    rows = len(on_paper(wall, 1, 0).rows)
    low = draw_wall(wall, job.units, plan.warnings, 0).height - rows * LOW_ROW
    drawing = draw_wall(wall, job.units, plan.warnings, room_on(paper) - taken - low - 3)
    if height_of(Figure(drawing)) + taken - height_of(listed) > room_on(paper):
        return Page(heading, (Figure(drawing), *said, listed))
    return Page(heading, (*said, Figure(drawing), listed))


def _on_pole(wall: WallLayout, pole: HousePole | None, unit: Unit) -> Iterator[Block]:
    """Yield where the starter goes, and the wall's sills and heads on the story pole."""
    words = [_start(start, unit) for start in pole.starts if start.wall == wall.id] if pole else []
    named = f"{wall.id}: "
    marks = [mark for mark in pole.marks if mark.text.startswith(named)] if pole else []
    if said := [f"{clean(mark.text.removeprefix(named))} {taped(mark.height, unit)}" for mark in marks]:
        words.append(f"Story pole, above the level line round the house from its lowest point: {', '.join(said)}.")
    if words:
        yield Paragraph(" ".join(words))


def _start(start: Start, unit: Unit) -> str:
    left, right = taped(start.left, unit), taped(start.right, unit)
    above = left if left == right else f"{left} at the left and {right} at the right"
    return f"Lower lip of the first panel: {above} above {clean(start.over)}."


def _list(rows: tuple[tuple[str, str], ...]) -> Table:
    """Return the order of hanging; of many short courses in two columns, the second beside the first."""
    if len(rows) < _MANY or any(len(text) > _SHORT for _, text in rows):
        return Table(_LISTED, rows)
    half = (len(rows) + 1) // 2
    beside = (*rows[half:], *[("", "")] * (2 * half - len(rows)))
    return Table(_LISTED * 2, tuple((*one, *other) for one, other in zip(rows[:half], beside, strict=True)))


def _cautions(plan: CutPlan) -> Iterator[Block]:
    if texts := [text for text in plan.cautions if text not in AT_THE_SAW]:
        yield Paragraph(texts[0])


def _courses(wall: WallLayout, unit: Unit) -> Iterator[tuple[str, str]]:
    """Yield for each course its pieces in the order of hanging, stretch by stretch from the left."""
    for course, stretches in groupby(wall.stretches, key=lambda stretch: stretch.course):
        own = list(stretches)
        rips = dict.fromkeys(rip_words(rip, unit) for stretch in own for rip in stretch.required.rips_in(course))
        items = [_item(piece, unit, wall, stretch) for stretch in own for piece in hanging_order(stretch)]
        yield "" if course is None else str(course), "  ".join([*items, *(f"({words})" for words in rips)])


def _item(piece: Hung, unit: Unit, wall: WallLayout, stretch: Covered) -> str:
    pointed = wall.exposure is not None and stretch.peak_under(wall.exposure) is not None
    fixed = ["(face-fasten it)"] * pointed
    named = [BOX, piece.label, *piece.holes, taped(piece.cut.length, unit), piece.stick, *fixed]
    return " ".join(named).replace(" ", _TOGETHER)


def before_and_after(job: Job, plan: CutPlan) -> tuple[WallLayout, WallLayout]:
    """Return what names no wall: what goes up before the panels, in its order, and panels that go up after."""
    loose, kinds = off_walls(job, plan), {m.id: m.category for m in job.materials}
    trim = [c for c in loose if kinds[c.required.material] in _PUT_UP_FIRST]
    trim.sort(key=lambda c: _PUT_UP_FIRST.index(kinds[c.required.material]))
    panels = tuple(c for c in loose if kinds[c.required.material] not in _PUT_UP_FIRST)
    return WallLayout(None, None, tuple(trim)), WallLayout(None, None, panels)


def _off_walls(wall: WallLayout, job: Job, plan: CutPlan, *, first: bool) -> Page:
    """Return what is put up off the walls, place by place."""
    heading = "To put up first: trim and soffit" if first else "To hang: without a wall"
    words = Paragraph("Where a course is held by utility trim, the trim is up before it.") if first else None
    rows = tuple(_places(wall.stretches, job.units))
    return Page(heading, (*_cautions(plan), *([words] if words else []), Table(_TRIM, rows)))


def _places(stretches: Iterable[Covered], unit: Unit) -> Iterator[tuple[str, str]]:
    """Yield for each place its pieces, those alike of one item together."""
    for where, group in groupby(stretches, key=lambda stretch: _place(stretch)[0]):
        pieces = [(stretch, piece) for stretch in group for piece in hanging_order(stretch)]
        alike = groupby(pieces, key=lambda pair: (id(pair[0].required), pair[1].tag, pair[1].cut.length))
        items = []
        for _, same in alike:
            own = list(same)
            items.append(_put_up(own, unit))
            stretch, last = own[-1]
            if stretch.laps_at and last is hanging_order(stretch)[-1]:
                items.append(_joints(stretch, unit))
        yield where, "  ".join(items)


def _joints(stretch: Covered, unit: Unit) -> str:
    """Return where the pieces of one run meet, for they go up as one."""
    places = " and ".join(taped(place - stretch.start, unit) for place in stretch.laps_at)
    named = f"({names(piece.tag for piece in stretch.pieces)} in one line, joints at {places} from its left)"
    return named.replace(" ", _TOGETHER)


def _place(stretch: Covered) -> tuple[str, str]:
    """Return where a stretch is, and which of what is there, as its reference has it: ``window W`` and ``sill``."""
    where, _, what = clean(stretch.required.ref or "").partition(": ")
    return where, what


def _put_up(pieces: Sequence[tuple[Covered, Hung]], unit: Unit) -> str:
    (stretch, first), count = pieces[0], len(pieces)
    sticks = names(dict.fromkeys(piece.stick for _, piece in pieces))
    named = [
        first.tag if count == 1 else f"{count} × {first.tag}",
        _place(stretch)[1],
        taped(first.cut.length, unit),
        sticks,
    ]
    said = " ".join(filter(None, named)).replace(" ", _TOGETHER)
    # a row of many boxes may stand in a line of its own
    return f"{boxes(count).replace(' ', _TOGETHER)}{_TOGETHER if count < _ROW_OF_BOXES else ' '}{said}"


def _noted(wall: WallLayout, plan: CutPlan, unit: Unit) -> Iterator[Block]:
    for notice in plan.warnings:
        if wall.id is not None and notice.wall == wall.id:
            at = "" if notice.place is None else f", at {taped(notice.place, unit)}"
            course = "" if notice.course is None else f"course {notice.course}{at}: "
            yield Paragraph(f"! {course}{clean(notice.detail)}")
