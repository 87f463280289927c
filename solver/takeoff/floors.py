"""A floor above the house's starter line: where its siding begins, and the ways to finish the strip below."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from solver.job import Notice
from solver.lengths import say
from solver.takeoff import rules
from solver.takeoff.answer import Figure, FloorFinish, Term, add_up
from solver.takeoff.geometry import Edge
from solver.takeoff.measured import Finish, Meeting
from solver.takeoff.survey import Survey, first_line, takes_up


def floor_figures(site: Survey) -> Iterator[Figure]:
    """Yield for each floor where its starter goes, from the house's level line, never off the floor."""
    for floor in site.floors:
        yield _starter(site, floor)


def _starter(site: Survey, floor: Edge) -> Figure:
    house, start = site.house, site.start_over(floor)
    up = start + site.wall.elevation
    courses, rest = divmod(up - house.course_line, house.exposure)
    terms = [
        Term(house.course_line, "the house's course line"),
        Term(courses * house.exposure, f"{courses} courses of {say(house.exposure, house.unit)}"),
        Term(rest, "off the course line"),
    ]
    name = f"{site.wall.id}: siding begins over the {floor.border.meets} at"
    return add_up(
        name, terms, house.unit, "one level line round the house: Journal of Light Construction; a maker's guide"
    )


def strips_left(site: Survey) -> Iterator[Notice]:
    """Yield a notice for each bottom whose starter lies above it: a strip is left that nothing covers."""
    for floor in site.floors:
        strip = site.start_over(floor) - floor.low.y
        if floor.border.meets is Meeting.STARTER and strip > 0:
            words = (
                f"{site.wall.id}: siding begins on the course line, {say(strip, site.house.unit)} above the wall's "
                "measured bottom; close the strip below, or move the course line"
            )
            yield Notice("strip_below", words, wall=site.wall.id, place=floor.left, got=strip)


def finishes(site: Survey, floor: Edge) -> tuple[FloorFinish, ...]:
    """Return the three ways to finish the strip over a floor; none for a bottom edge that simply has a starter."""
    if floor.border.meets is Meeting.STARTER:
        return ()
    return _closed(site, floor), _behind_channel(site, floor), _ripped(site, floor)


def _line_over(site: Survey, floor: Edge) -> int:
    """The first course line of the house over the floor, whatever the wall's finish."""
    line = site.house.course_line - site.wall.elevation
    return first_line(site.house, replace(site.wall, finish=Finish.TRIM), floor, line)


def _ends(floor: Edge) -> tuple[int, int]:
    return int(floor.y_at(floor.left)), int(floor.y_at(floor.right))


def _closed(site: Survey, floor: Edge) -> FloorFinish:
    line = _line_over(site, floor)
    left, right = (line - y for y in _ends(floor))
    words = (
        f"starter on the course line, the strip below it ({_two(site, left, right)}) closed by trim: "
        "courses meet at the corner, the trim shows"
    )
    return FloorFinish(Finish.TRIM, left, right, words, rules.NO_SOURCE)


def _behind_channel(site: Survey, floor: Edge) -> FloorFinish:
    low = floor.high.y + takes_up(floor, site.house.settings)
    left, right = (low - y for y in _ends(floor))
    off = _line_over(site, floor) - low
    words = (
        f"channel over the floor with the starter behind it: no strip to close, but this wall's courses lie "
        f"{say(off, site.house.unit)} below the house's and do not meet them at the corner"
    )
    return FloorFinish(
        Finish.CHANNEL, left, right, words, "channel where a wall meets a deck: a maker's measuring page"
    )


def _ripped(site: Survey, floor: Edge) -> FloorFinish:
    taken = takes_up(floor, site.house.settings)
    left, right = (_line_over(site, floor) - y - taken for y in _ends(floor))
    words = (
        f"a course ripped to {_two(site, left, right)} and held in the channel: courses meet at the corner, "
        "but it has lost its lock, so furring and utility trim hold it"
    )
    return FloorFinish(Finish.RIP, left, right, words, rules.CODE)


def _two(site: Survey, left: int, right: int) -> str:
    unit = site.house.unit
    if left == right:
        return f"{say(left, unit)} high"
    return f"{say(left, unit)} high at the left, {say(right, unit)} at the right"
