"""What to know of a take-off before cutting: slivers, patterns, peaks, supports, what has no material."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from solver.demand import longest_stick
from solver.job import Notice
from solver.lengths import say
from solver.takeoff.advice import advise, grade_notices
from solver.takeoff.answer import Course, SoffitRow, Trim, WallTakeOff
from solver.takeoff.cold import temperature_notices
from solver.takeoff.floors import strips_left
from solver.takeoff.items import butted
from solver.takeoff.measured import House, Role
from solver.takeoff.supports import ceiling_notices, eave_notices
from solver.takeoff.survey import Survey

WORKED_OUT = (Role.OUTSIDE_POST, Role.INSIDE_POST)


def notices(
    house: House,
    sites: Sequence[Survey],
    walls: Sequence[WallTakeOff],
    soffits: Sequence[SoffitRow],
    trim: Sequence[Trim],
) -> Iterator[Notice]:
    """Yield every notice: the house's first, then each wall's, the ceilings', the trim's."""
    yield from temperature_notices(house.settings)
    yield from advise(house)
    yield from grade_notices(sites)
    for site in sites:
        yield from strips_left(site)
        yield from _unnamed_corners(site)
    for taken in walls:
        yield from _patterns(taken)
        for course in taken.courses:
            yield from _of_course(house, taken.wall.id, course)
    for ceiling, row in zip(house.ceilings, soffits, strict=False):
        yield from ceiling_notices(house, ceiling, row)
    for eave in house.eaves:
        yield from eave_notices(house, eave)
    yield from _of_trim(house, trim)
    yield from _without_material(house, soffits, trim)


def _patterns(taken: WallTakeOff) -> Iterator[Notice]:
    numbers = [course.band.number for course in taken.courses if any(run.pattern for run in course.runs)]
    if numbers:
        which = ", ".join(_consecutive(numbers))
        words = f"{taken.wall.id}: sloping ends in course {which}: make a pattern; lengths are those of the long edge"
        yield Notice("pattern", words, wall=taken.wall.id)


def _consecutive(numbers: Sequence[int]) -> Iterator[str]:
    """Yield ascending numbers in words, those that follow one another as ``15 to 23``."""
    first = numbers[0]
    for number, following in pairwise([*numbers, 0]):
        if following != number + 1:
            yield f"{first} to {number}" if first < number else str(number)
            first = following


def _of_course(house: House, wall: str, course: Course) -> Iterator[Notice]:
    number = course.band.number
    if course.left_out:
        words = f"{wall}, course {number}: a corner too short for a panel; close it with a scrap, face-fastened"
        yield Notice("too_short", words, wall=wall, course=number)
    for run in course.runs:
        if run.left.end.slope and run.right.end.slope and run.cut < _shortest(house):
            words = f"{wall}, course {number}: a short piece at the peak, {say(run.cut, house.unit)}: face-fasten it"
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
        material = house.material_for(piece.role)
        stick = longest_stick(material) if material else 0
        parts = butted(piece, material) if material else 1
        if parts > 1:
            words = f"{piece.place}: {say(piece.length, house.unit)} is butted in {parts} parts"
            yield Notice("butted", f"{words}, for its material has no lap", needed=piece.length, got=stick)
        elif piece.role in WORKED_OUT and 0 < stick < piece.length:
            words = f"{piece.place}: {say(piece.length, house.unit)} is longer than a post of {say(stick, house.unit)}"
            words += "; one piece is preferred, else lap it"
            yield Notice("post_spliced", words, needed=piece.length, got=stick)


def _without_material(house: House, soffits: Sequence[SoffitRow], trim: Sequence[Trim]) -> Iterator[Notice]:
    wanted = [piece.role for piece in trim] + [Role.SOFFIT for _ in soffits]
    for role in dict.fromkeys(wanted):
        if role not in house.uses:
            words = f"no material serves as {role.replace('_', ' ')}: its pieces are listed, but not planned"
            yield Notice("no_material", words)
