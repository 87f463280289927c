"""What to know of a take-off before cutting: slivers, patterns, peaks, supports, what has no material.

Slivers hang on the height of the course line, which all walls share: what the rips at tops, sills and heads become
when it moves is worked out here, and nothing here moves it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from solver.categories import Hangs
from solver.demand import longest_stick
from solver.job import Notice
from solver.lengths import TICKS_PER_INCH, TICKS_PER_MM, Unit, say, say_pitch
from solver.takeoff import rules
from solver.takeoff.answer import Course, RunOnWall, SoffitRow, StarterHeight, Strip, Trim, WallTakeOff
from solver.takeoff.cold import temperature_notices
from solver.takeoff.floors import strips_left
from solver.takeoff.geometry import Facing
from solver.takeoff.items import butted, material_of
from solver.takeoff.measured import Finish, House, Meeting, Opening, OpeningKind, Role
from solver.takeoff.soffits import ceiling_notices, eave_notices
from solver.takeoff.survey import Survey, sided_below, survey, takes_up


def starter_heights(house: House) -> tuple[StarterHeight, ...]:
    """Return a few heights for the course line, from the lowest: as it is; 1/2, 1 and 2 in (10, 25, 50 mm) off."""
    inches = (TICKS_PER_INCH // 2, TICKS_PER_INCH, 2 * TICKS_PER_INCH)
    off = (10 * TICKS_PER_MM, 25 * TICKS_PER_MM, 50 * TICKS_PER_MM) if house.unit.metric else inches
    return tuple(at_shift(house, shift) for shift in (*(-size for size in reversed(off)), 0, *off))


def at_shift(house: House, shift: int) -> StarterHeight:
    """Return what the course line moved by ``shift`` would leave."""
    moved = replace(house, course_line=house.course_line + shift)
    level = (wall for wall in house.walls if house.hangs(wall) is Hangs.COURSES)
    strips = tuple(strip for wall in level for strip in _strips(survey(moved, wall)))
    slivers = tuple(strip for strip in strips if 0 < strip.height < house.settings.sliver)
    return StarterHeight(shift, strips, slivers)


def _strips(site: Survey) -> Iterator[Strip]:
    clearance = site.house.settings.height_clearance
    for edge in site.facing(Facing.TOP):
        if edge.level and edge.border.meets is not Meeting.SOFFIT_LATER:
            top = edge.low.y - takes_up(edge, site.house.settings) - clearance
            yield Strip(site.wall.id, "top course", _above_line(site, top))
    for opening in site.wall.openings:
        if opening.kind is not OpeningKind.FIXTURE:
            yield from _at_opening(site, opening)


def _at_opening(site: Survey, opening: Opening) -> Iterator[Strip]:
    name, exposure = f"{opening.kind} {opening.id}", site.house.exposure
    sill = opening.bottom - opening.takes_up.sill - site.house.settings.height_clearance
    head = opening.top + opening.takes_up.head + site.house.settings.height_clearance
    if sill > min((site.start_over(floor) for floor in site.floors), default=site.line) and sided_below(site, opening):
        yield Strip(site.wall.id, f"under the sill of {name}", _above_line(site, sill))
    yield Strip(site.wall.id, f"over the head of {name}", (exposure - _above_line(site, head)) % exposure)


def _above_line(site: Survey, height: int) -> int:
    return (height - site.line) % site.house.exposure


def advise(house: House) -> Iterator[Notice]:
    """Yield a notice for each sliver as the course line is, with the nearest height that leaves none, if one does."""
    now = at_shift(house, 0)
    if not now.slivers:
        return
    better = _nearest(house)
    for strip in now.slivers:
        left = f"{strip.wall}: {strip.place} only {say(strip.height, house.unit)} of a panel is left"
        yield Notice(
            "sliver",
            f"{left}; {_remedy(house, better)}",
            wall=strip.wall,
            needed=house.settings.sliver,
            got=strip.height,
        )


def _remedy(house: House, better: int | None) -> str:
    if better is None:
        return (
            f"no height within {say(rules.STARTER_MAY_MOVE.value, house.unit)} of the course line avoids every sliver"
        )
    way = "lower" if better < 0 else "higher"
    return f"a course line {say(abs(better), house.unit)} {way} avoids every sliver"


def _nearest(house: House) -> int | None:
    step = 5 * TICKS_PER_MM if house.unit.metric else TICKS_PER_INCH // 4
    reach = range(step, rules.STARTER_MAY_MOVE.value + 1, step)
    shifts = [shift for size in reach for shift in (-size, size)]
    return next((s for s in shifts if _may_move(house, s) and not at_shift(house, s).slivers), None)


def _may_move(house: House, shift: int) -> bool:
    """Whether every starter stays near its wall's measured bottom, and off the ground."""
    moved = replace(house, course_line=house.course_line + shift)
    level = (wall for wall in house.walls if house.hangs(wall) is Hangs.COURSES)
    sites = [survey(moved, wall) for wall in level if wall.finish is not Finish.CHANNEL]
    return all(_starts_near(site, shift) for site in sites)


def _starts_near(site: Survey, shift: int) -> bool:
    before = survey(replace(site.house, course_line=site.house.course_line - shift), site.wall)
    starts = [f for f in site.floors if f.border.meets is Meeting.STARTER]
    clear = site.wall.grade is None or site.line >= site.wall.grade + site.house.settings.above_grade
    return clear and all(site.start_over(f) == before.start_over(f) + shift for f in starts)


def grade_notices(sites: Sequence[Survey]) -> Iterator[Notice]:
    """Yield a notice for each wall whose siding begins too near the ground."""
    for site in sites:
        grade, settings = site.wall.grade, site.house.settings
        lowest = min((site.start_over(floor) for floor in site.floors), default=None)
        if grade is not None and lowest is not None and lowest < grade + settings.above_grade:
            text = f"{site.wall.id}: siding begins {say(lowest - grade, site.house.unit)} above the ground"
            yield Notice(
                "near_ground",
                f"{text}, and {say(settings.above_grade, site.house.unit)} is asked for ({rules.ABOVE_GRADE.source})",
                wall=site.wall.id,
                needed=settings.above_grade,
                got=lowest - grade,
            )


WORKED_OUT = (Role.OUTSIDE_POST, Role.INSIDE_POST)


def notices(
    house: House,
    sites: Sequence[Survey],
    walls: Sequence[WallTakeOff],
    soffits: Sequence[SoffitRow],
    trim: Sequence[Trim],
) -> Iterator[Notice]:
    """Yield every notice: the house's first, then each wall's, the ceilings', the trim's."""
    yield from temperature_notices(house.settings, house.unit)
    yield from advise(house)
    yield from grade_notices(sites)
    for site in sites:
        yield from strips_left(site)
        yield from _unnamed_corners(site)
    for taken in walls:
        yield from _patterns(taken, house.unit)
        for course in taken.courses:
            yield from _of_course(house.for_wall(taken.wall), taken, course)
    for ceiling, row in zip(house.ceilings, soffits, strict=False):
        yield from ceiling_notices(house, ceiling, row)
    for eave in house.eaves:
        yield from eave_notices(house, eave)
    yield from _of_trim(house, trim)
    yield from _without_material(house, soffits, trim)


def _patterns(taken: WallTakeOff, unit: Unit) -> Iterator[Notice]:
    numbers = [course.band.number for course in taken.courses if any(run.pattern for run in course.runs)]
    if numbers:
        which = f"{_called(taken)}{'s' * (len(numbers) > 1)} {', '.join(_consecutive(numbers))}"
        words = f"{taken.wall.id}: sloping ends in {which}: make a pattern; lengths are those of the long edge"
        yield Notice("pattern", words, wall=taken.wall.id)
    for course in taken.courses:
        for run in course.runs:
            yield from _bends(taken, course, run, unit)


def _called(taken: WallTakeOff) -> str:
    return "panel" if taken.hangs is Hangs.COLUMNS else "course"


def _bends(taken: WallTakeOff, course: Course, run: RunOnWall, unit: Unit) -> Iterator[Notice]:
    wall, here = taken.wall.id, f"{taken.wall.id}, {_called(taken)} {course.band.number}"
    sides = ("head", "foot") if taken.hangs is Hangs.COLUMNS else ("left", "right")
    for side, end in zip(sides, (run.left, run.right), strict=True):
        slope = end.end.slope
        if end.odd:
            words = f"{here}: its {side} end turns more than once: cut it to a pattern of the whole end"
            yield Notice("odd_end", words, wall=wall, course=course.band.number, place=run.start)
        elif slope and slope.upright:
            words = (
                f"{here}: its {side} end is upright for {say(slope.upright, unit)} from its {slope.long_edge} edge, "
                f"then slopes {say_pitch(slope.pitch, unit)}"
            )
            yield Notice("bend", words, wall=wall, course=course.band.number, place=run.start, got=slope.upright)


def _consecutive(numbers: Sequence[int]) -> Iterator[str]:
    """Yield ascending numbers in words, those that follow one another as ``15 to 23``."""
    first = numbers[0]
    for number, following in pairwise([*numbers, 0]):
        if following != number + 1:
            yield f"{first} to {number}" if first < number else str(number)
            first = following


def _of_course(house: House, taken: WallTakeOff, course: Course) -> Iterator[Notice]:
    wall, number, called = taken.wall.id, course.band.number, _called(taken)
    if course.left_out:
        words = f"{wall}, {called} {number}: a corner too short for a panel; close it with a scrap, face-fastened"
        yield Notice("too_short", words, wall=wall, course=number)
    for run in course.runs:
        if run.left.end.slope and run.right.end.slope and run.cut < _shortest(house):
            words = f"{wall}, {called} {number}: a short piece at the peak, {say(run.cut, house.unit)}: face-fasten it"
            yield Notice("peak", words, wall=wall, course=number, place=run.start, got=run.cut)


def _shortest(house: House) -> int:
    panel = house.material_for(Role.PANEL)
    return (panel.settings.shortest_piece or 0) if panel else 0


def _unnamed_corners(site: Survey) -> Iterator[Notice]:
    for edge in site.edges:
        if edge.border.meets.is_post and edge.border.corner is None:
            words = f"{site.wall.id}: its {edge.facing} corner has no name, so its post is not shared with another wall"
            yield Notice("corner_unnamed", words, wall=site.wall.id)


def _of_trim(house: House, trim: Sequence[Trim]) -> Iterator[Notice]:
    for piece in trim:
        material = material_of(house, piece)
        stick = longest_stick(material) if material else 0
        parts = butted(piece, material) if material else 1
        if parts > 1:
            words = f"{piece.place}: {say(piece.length, house.unit)} is butted in {parts} parts"
            yield Notice("butted", f"{words}, because its material has no lap", needed=piece.length, got=stick)
        elif piece.role in WORKED_OUT and 0 < stick < piece.length:
            words = f"{piece.place}: {say(piece.length, house.unit)} is longer than a post of {say(stick, house.unit)}"
            words += "; use one piece if you can, or lap two"
            yield Notice("post_spliced", words, needed=piece.length, got=stick)


def _without_material(house: House, soffits: Sequence[SoffitRow], trim: Sequence[Trim]) -> Iterator[Notice]:
    wanted = [piece.role for piece in trim if piece.material is None] + [Role.SOFFIT for _ in soffits]
    for role in dict.fromkeys(wanted):
        if role not in house.uses:
            words = f"no material is used as {role.words}: its pieces are listed, but not planned"
            yield Notice("no_material", words)
