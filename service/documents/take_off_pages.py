"""The take-off on paper: each wall's elevation, arithmetic and story pole, then soffit and trim, then the estimate."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from service.documents.blocks import Block, Column, Figure, Heading, Page, Paper, Paragraph, Sheet, Table
from service.drawing.elevation import draw_elevation, draw_house_pole, draw_story_pole
from service.drawing.lettering import clean
from service.views.facts import NOT_ORDERED
from solver.categories import Hangs
from solver.job import Notice
from solver.lengths import Unit, say
from solver.required import Edge
from solver.takeoff import TakeOff
from solver.takeoff.answer import Course, Needed, NotedCutOut, RunOnWall, StarterHeight, Trim, WallTakeOff, decimal
from solver.takeoff.answer import Figure as Reckoned

_RUNS = (
    Column("Courses", 10),
    Column("Clear length", 14),
    Column("Cut in one piece", 14),
    Column("How it was worked out", 62),
)
_CUT_OUTS = (
    Column("Course", 8), Column("For", 12), Column("From the wall's zero", 22), Column("Height from the lip", 20),
    Column("What to do", 38),
)  # fmt: skip
_LEVEL_CUT_OUTS = "Cut-outs; check both heights on the wall"
_UPRIGHT_CUT_OUTS = (
    "Cut-outs, as the panel lies with its hem up and its head at the left: places from the wall's highest point down"
)
_TRIM = (
    Column("Number", 8, figures=True),
    Column("Length", 14),
    Column("Where", 34),
    Column("How it was worked out", 44),
)
_NEEDS = (
    Column("What", 14), Column("How much", 11), Column("Bought as", 13), Column("How it was worked out", 38),
    Column("Rule from", 24),
)  # fmt: skip
_FIGURES = (Column("What", 24), Column("How it was worked out", 46), Column("Rule from", 30))
_STARTS = (
    Column("Wall", 20), Column("Siding begins over", 24), Column("Above the level line", 20),
    Column("Above that, at the left", 18), Column("At the right", 18),
)  # fmt: skip
_LEVELS = (Column("Above the level line", 20), Column("Wall and number of its course", 80))
_STRIPS = (Column("Course line", 18), Column("What is left of a panel", 82))
_RULES = (Column("Rule", 38), Column("Value", 10), Column("Source", 28), Column("Other sources", 24))


def take_off_sheet(found: TakeOff, made: datetime, paper: Paper) -> Sheet:
    """Return the whole take-off as a sheet."""
    name = clean(found.house.name)
    pages = [*(_wall(found, taken) for taken in found.walls), *_house_pole(found)]
    pages += [_trim_page(found), _needs(found), _estimate(found)]
    cautions = tuple(Paragraph(text) for text in found.cautions)
    pages[0] = replace(pages[0], blocks=(*cautions, *pages[0].blocks))
    return Sheet(f"Take-off: {name}" if name else "Take-off", tuple(pages), name, made, paper)


def _wall(found: TakeOff, taken: WallTakeOff) -> Page:
    unit, name = found.house.unit, clean(taken.wall.id)
    blocks: list[Block] = [Figure(draw_elevation(taken, unit)), *_noted(found.notices, taken.wall.id)]
    upright = taken.hangs is Hangs.COLUMNS
    heading = "Upright panels, from the left" if upright else "Runs, from the lowest course"
    columns = (replace(_RUNS[0], title="Panels"), *_RUNS[1:]) if upright else _RUNS
    blocks += [Heading(heading), Table(columns, tuple(_runs(taken.courses, unit)))]
    cut_outs = tuple(_cut_outs(taken.courses, unit))
    if cut_outs:
        where = (replace(_CUT_OUTS[0], title="Panel"), *_CUT_OUTS[1:]) if upright else _CUT_OUTS
        blocks += [Heading(_UPRIGHT_CUT_OUTS if upright else _LEVEL_CUT_OUTS), Table(where, cut_outs)]
    blocks += [Heading("Heights and slopes"), _figures(taken.figures), *_finishes(taken, unit)]
    pole = () if upright else (Figure(draw_story_pole(taken, unit)),)
    return Page(f"Wall {name}", (*blocks, *pole))


def _house_pole(found: TakeOff) -> Iterator[Page]:
    pole, unit = found.pole, found.house.unit
    if pole:
        starts = tuple(
            (clean(s.wall), clean(s.over), say(s.height, unit), say(s.left, unit), say(s.right, unit))
            for s in pole.starts
        )
        steps = [Paragraph(f"{clean(step[:1].upper() + step[1:])}.") for step in pole.steps]
        rows = tuple((say(course.height, unit), clean(course.text)) for course in reversed(pole.courses))
        courses = (Heading("Courses of all walls, from the highest"), Table(_LEVELS, rows)) if rows else ()
        drawing = Figure(draw_house_pole(pole, unit))
        yield Page("Story pole of the house", (Table(_STARTS, starts), *steps, *courses, drawing))


def _noted(notices: Sequence[Notice], wall: str) -> Iterator[Block]:
    return (Paragraph(f"! {clean(notice.detail)}") for notice in notices if notice.wall == wall)


def _runs(courses: Sequence[Course], unit: Unit) -> Iterator[tuple[str, ...]]:
    """Yield a row for runs alike in successive courses."""
    rows: list[tuple[int, int, RunOnWall]] = []
    for course in courses:
        for run in course.runs:
            number = course.band.number
            before = next((r for r in rows if r[1] == number - 1 and _alike(r[2], run)), None)
            if before:
                rows[rows.index(before)] = (before[0], number, run)
            else:
                rows.append((number, number, run))
    for first, last, run in rows:
        ripped = "".join(f"; {rip.text}" for rip in run.rips)
        numbers = str(first) if first == last else f"{first} to {last}"
        yield numbers, say(run.length, unit), say(run.cut, unit), clean(f"{run.text}{ripped}")


def _alike(one: RunOnWall, other: RunOnWall) -> bool:
    return _shape(one) == _shape(other)


def _shape(run: RunOnWall) -> tuple[object, ...]:
    return run.start, run.length, run.rips, run.left.end, run.right.end


def _cut_outs(courses: Sequence[Course], unit: Unit) -> Iterator[tuple[str, ...]]:
    for course in courses:
        for noted in (noted for run in course.runs for noted in run.cut_outs):
            cut = noted.cut_out
            along = f"{say(cut.start, unit)} to {say(cut.end, unit)}"
            yield str(course.band.number), clean(noted.opening), along, _heights(noted, unit), "; ".join(noted.notes)


def _heights(noted: NotedCutOut, unit: Unit) -> str:
    left, right = say(noted.height_left, unit), say(noted.height_right, unit)
    if noted.top is not None:
        return f"hole from {left} to {say(noted.top, unit)}"
    edge = "down to" if noted.cut_out.edge is Edge.TOP else "up to"
    return f"{edge} {left} at the left, {right} at the right"


def _figures(figures: Sequence[Reckoned]) -> Table:
    return Table(_FIGURES, tuple((clean(f.name), clean(f.text), clean(f.source)) for f in figures))


def _finishes(taken: WallTakeOff, unit: Unit) -> Iterator[Block]:
    if taken.finishes:
        yield Heading("Ways to finish above the deck or roof")
    for way in taken.finishes:
        chosen = " (chosen)" if way.finish is taken.wall.finish else ""
        heights = f"{say(way.left, unit)} at the left, {say(way.right, unit)} at the right"
        yield Paragraph(f"{way.finish}{chosen}: {way.consequence}; {heights}. Source: {way.source}.")


def _trim_page(found: TakeOff) -> Page:
    unit = found.house.unit
    blocks: list[Block] = []
    for row in found.soffits:
        blocks += [Heading(f"{row.quantity} soffit panels, {clean(row.place)}"), _figures(row.figures)]
    for role in dict.fromkeys(piece.role for piece in found.trim):
        rows = tuple(_piece(piece, unit) for piece in found.trim if piece.role is role)
        blocks += [Heading(role.words[:1].upper() + role.words[1:]), Table(_TRIM, rows)]
    blocks += (Paragraph(f"! {clean(notice.detail)}") for notice in found.notices if notice.wall is None)
    return Page("Soffit and trim", tuple(blocks))


def _piece(piece: Trim, unit: Unit) -> tuple[str, ...]:
    return str(piece.quantity), say(piece.length, unit), clean(piece.place), clean(piece.figure.text)


def _needs(found: TakeOff) -> Page:
    rows = tuple(_need(need) for need in found.needs)
    words = "Not cut by the plan: bought as named, or to be ordered besides."
    return Page("Besides panels and trim", (Paragraph(words), Table(_NEEDS, rows)))


def _need(need: Needed) -> tuple[str, ...]:
    much = f"{decimal(need.quantity)} {need.unit}"
    bought = f"{need.packs} packs of {clean(need.product or '')}" if need.packs else NOT_ORDERED
    return need.need.replace("_", " "), much, bought, clean(need.text), need.source


def _estimate(found: TakeOff) -> Page:
    unit = found.house.unit
    rules = tuple((rule.name, rule.value, rule.source, rule.conflicts) for rule in found.rules)
    blocks: list[Block] = [_figures(found.figures)]
    if found.starter_heights:
        rows = tuple((_shift(height, unit), _left(height, unit)) for height in found.starter_heights)
        blocks += [Heading("If the course line moves"), Table(_STRIPS, rows)]
    return Page("Cross-check by area, and rules used", (*blocks, Heading("Rules"), Table(_RULES, rules)))


def _shift(height: StarterHeight, unit: Unit) -> str:
    if not height.shift:
        return "as it is"
    return f"{say(abs(height.shift), unit)} {'lower' if height.shift < 0 else 'higher'}"


def _left(height: StarterHeight, unit: Unit) -> str:
    words = (
        f"{clean(s.wall)}, {clean(s.place)}: {say(s.height, unit)}{' (sliver)' if s in height.slivers else ''}"
        for s in height.strips
    )
    return "; ".join(words)
