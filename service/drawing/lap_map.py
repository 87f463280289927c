"""The lap map: a wall as it is hung, with every piece, lap and cut-out, what keeps clear and where it is seen from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from service.drawing.course_row import draw_row, kept_clear
from service.drawing.drafting import Box, Stretch, chain, hatched
from service.drawing.layout import WallLayout
from service.drawing.lettering import clean, in_lines, taped, width_of
from service.drawing.pattern import WIDTH
from service.drawing.shapes import LEAST, OUTLINE, THIN, Anchor, Drawing, Line, Shape, Strokes, Text, arrow, rectangle
from service.drawing.wall_paper import Opening, WallPaper, on_paper, openings
from solver.job import Notice
from solver.lengths import TICKS_PER_INCH, Unit
from solver.required import Meets, Side

_LINE = 4.0
"""Distance of the lines of the legend."""
_POLE = 16.0
"""Width of the heights at the right."""
_NEAR = 2 * TICKS_PER_INCH
"""Two marks nearer than this are dimensioned as one."""


def draw_wall(wall: WallLayout, unit: Unit, warnings: Sequence[Notice] = (), tallest: float = 215.0) -> Drawing:
    """Return the lap map of a wall, its rows ``tallest`` millimetres high together if they can be so low.

    ``warnings`` with a place on this wall are marked there.
    """
    paper = on_paper(wall, WIDTH - (_POLE if wall.heights else 0), 0, tallest)
    signed = any(True for notice in warnings for _ in _warning(paper, wall, notice))
    heading = list(_heading(paper, wall, unit, signed=signed))
    paper = paper.moved(2 + _LINE * len(heading))
    signs = [sign for notice in warnings for sign in _warning(paper, wall, notice)]
    shapes: list[Shape] = [*heading]
    for row in paper.rows:
        shapes += draw_row(paper, row, unit)
    for opening in openings(paper):
        shapes += _opening(paper, opening, unit)
    shapes += [*signs, *_heights(paper, wall, unit)]
    below = _below(paper, wall, unit)
    return Drawing(f"Lap map: {name_of(wall)}", _described(wall, unit), WIDTH, below[1], (*shapes, *below[0]))


def name_of(wall: WallLayout) -> str:
    """Return what a wall is called on paper."""
    return f"wall {clean(wall.id)}" if wall.id is not None else "runs without a wall"


def facing(wall: WallLayout) -> str:
    """Return which panel lies on top at the laps of a wall, as a sentence; empty where nothing is lapped."""
    sides = {side for stretch in wall.stretches for side in stretch.on_top}
    if not sides:
        return ""
    if len(sides) > 1:
        return "At a lap the solid edge lies on top, the dashed edge under it."
    side = sides.pop()
    other = Side.RIGHT if side is Side.LEFT else Side.LEFT
    return f"At every lap the {side} panel lies on top: hang from the {other}."


def _heading(paper: WallPaper, wall: WallLayout, unit: Unit, *, signed: bool) -> Iterator[Text]:
    """Yield the legend, line by line: every sign that this drawing has."""
    said = ["Seen from outside; heights not to scale."]
    said += ["Lengths in mm."] * unit.metric
    said += [facing(wall)] * bool(facing(wall))
    said += ["Arrow: the way a course is hung."] * bool(facing(wall))
    said += ["At the right: lower lip of each course on the story pole."] * bool(wall.heights)
    if any(stretch.laps_at for stretch in wall.stretches):
        said += [f"Figure at a lap: left end of its right-hand panel, from {_zero(paper, wall, unit)}."]
        said += _overlaps(wall, unit)
    drawn = [(row, stretch) for row in paper.rows for stretch in row.stretches]
    signs = [
        (any(piece.cut_outs for _, stretch in drawn for piece in stretch.pieces), "small hatched: notch or hole"),
        (any(any(kept_clear(row, stretch)) for row, stretch in drawn), "chain lines: no lap between"),
        (signed, "! a rule is broken, see the notes"),
    ]
    said += [f"{'; '.join(words for there, words in signs if there).capitalize()}."] * any(there for there, _ in signs)
    for n, line in enumerate(in_lines(" ".join(said), LEAST, WIDTH)):
        yield Text(0, 3 + _LINE * n, line, LEAST, Anchor.START)


def _zero(paper: WallPaper, wall: WallLayout, unit: Unit) -> str:
    """Return where the wall's zero lies, from what can be found on the wall: where its dimensions begin."""
    first = min(wall.stretches, key=lambda stretch: stretch.start).required
    begins = "the back of the pocket" if first.left_end.meets is Meets.CHANNEL else "the end of the panels"
    off = taped(abs(paper.start), unit)
    beside = "" if not paper.start else f"{off} {'left' if paper.start > 0 else 'right'} of "
    return f"the wall's zero, {beside}{begins} at its left, where the dimensions below begin"


def _overlaps(wall: WallLayout, unit: Unit) -> Iterator[str]:
    """Yield how far panels lie over one another."""
    joints = (pair for stretch in wall.stretches for pair in pairwise(stretch.pieces))
    laps = sorted({one.right - other.left for one, other in joints})
    if laps and laps[0] > 0:
        least, most = taped(laps[0], unit), taped(laps[-1], unit)
        yield f"Each lap: {least}." if least == most else f"Laps: {least} to {most}."


def _heights(paper: WallPaper, wall: WallLayout, unit: Unit) -> Iterator[Shape]:
    """Yield beside each course the height of its lower lip on the story pole."""
    known, edge = dict(wall.heights), paper.x(paper.end)
    for row in paper.rows:
        if row.course in known:
            yield Strokes(
                (
                    ((WIDTH - _POLE, row.bottom), (WIDTH - _POLE + 2, row.bottom)),
                    ((edge, row.bottom), (edge + 1, row.bottom)),
                ),
                THIN,
            )
            yield Text(WIDTH, row.bottom + 1.1, taped(known[row.course], unit).removesuffix(" mm"), LEAST, Anchor.END)


def _opening(paper: WallPaper, opening: Opening, unit: Unit) -> Iterator[Shape]:
    left, right = paper.x(opening.start), paper.x(opening.end)
    corners = rectangle(left, opening.top, right, opening.bottom)
    text = f"open {taped(opening.end - opening.start, unit)}"
    middle, y = (left + right) / 2, (opening.top + opening.bottom) / 2
    half = width_of(text, LEAST) / 2 + 1
    free: Box | None = (middle - half, y - 2.6, middle + half, y + 2.0) if 2 * half < right - left else None
    yield Line(corners, OUTLINE, closed=True)
    yield hatched(corners, 2.6, free)
    if free:
        yield Text(middle, y + 1.1, text, LEAST)


def _warning(paper: WallPaper, wall: WallLayout, notice: Notice) -> Iterator[Shape]:
    rows = [row for row in paper.rows if row.course == notice.course]
    if notice.wall == wall.id and notice.place is not None and rows:
        # beside the lap, whose edge would run through the sign
        x, y = paper.x(notice.place) - 2.3, rows[0].top + 3.8
        yield Line(((x, y - 3.2), (x + 1.9, y), (x - 1.9, y)), OUTLINE, closed=True)
        yield Text(x, y - 0.4, "!", LEAST, bold=True)


def _below(paper: WallPaper, wall: WallLayout, unit: Unit) -> tuple[tuple[Shape, ...], float]:
    """Return the dimensions under the wall and where it is seen from, and the y at which the drawing ends."""
    marks = _marks(paper, wall)
    parts = [Stretch(paper.x(a), paper.x(b), taped(b - a, unit)) for a, b in pairwise(marks)]
    first = chain(parts if len(parts) > 1 else [], paper.bottom + 5.5, paper.bottom + 0.6)
    y = first.bottom + 3.6 if len(parts) > 1 else paper.bottom + 5.5
    across = Stretch(paper.x(paper.start), paper.x(paper.end), taped(paper.end - paper.start, unit))
    whole = chain([across], y, paper.bottom + 0.6)
    seen, bottom = _seen(paper, wall, whole.bottom)
    return (*first.shapes, *whole.shapes, *seen), bottom


def _marks(paper: WallPaper, wall: WallLayout) -> list[int]:
    """Return what is dimensioned along a wall: its ends, its openings, and what is kept clear elsewhere than there."""
    marks = {paper.start, paper.end, *(x for o in openings(paper) for x in (o.start, o.end))}
    clears = [clear for stretch in wall.stretches for clear in stretch.required.keep_clear]
    for x in sorted({x for clear in clears for x in (clear.start, clear.end)}):
        if all(abs(x - mark) > _NEAR for mark in marks) and paper.start < x < paper.end:
            marks.add(x)
    return sorted(marks)


def _seen(paper: WallPaper, wall: WallLayout, y: float) -> tuple[tuple[Shape, ...], float]:
    """Return the arrow of the one who looks at the wall."""
    left, right, level = paper.x(paper.start), paper.x(paper.end), y + 4
    match wall.viewed_from:
        case None:
            return (), y + 0.5
        case Side.LEFT:
            text = Text(left + 13, level + 0.8, "seen from the left: laps face away", LEAST, Anchor.START)
            return (*arrow((left, level), (left + 11, level)), text), level + 2
        case Side.RIGHT:
            text = Text(right - 13, level + 0.8, "seen from the right: laps face away", LEAST, Anchor.END)
            return (*arrow((right, level), (right - 11, level)), text), level + 2
        case int(place):
            return _standing(paper.x(place), y + 1), y + 8


def _standing(x: float, y: float) -> tuple[Shape, ...]:
    """Return a point under the wall where somebody stands and looks."""
    point = Line(((x, y), (x + 1.4, y + 3), (x - 1.4, y + 3)), THIN, closed=True, filled=True)
    return point, Text(x, y + 5.6, "seen from here: laps face away on both sides", LEAST)


def _described(wall: WallLayout, unit: Unit) -> str:
    rows = []
    for stretch in wall.stretches:
        pieces = ", ".join(f"{p.tag} from {p.stick}, {taped(p.cut.length, unit)}" for p in stretch.pieces)
        laps = " and ".join(taped(place, unit) for place in stretch.laps_at)
        course = f"course {stretch.course}" if stretch.course is not None else clean(stretch.required.material)
        rows.append(f"{course}: {pieces}" + (f"; laps at {laps}" if laps else ""))
    return ". ".join([f"{facing(wall)} From the left, {rows[0]}", *rows[1:]]).strip() + "."
