"""One story pole for the house: every wall's courses against one level line, its starters, the steps between floors.

A level line is carried round the house from its lowest point, so that courses meet at the corners (Journal of Light
Construction; a maker's guide). All heights are above that line, in ticks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from solver.lengths import Unit, say
from solver.takeoff.geometry import Edge
from solver.takeoff.measured import Meeting, OpeningKind
from solver.takeoff.survey import Survey


@dataclass(frozen=True, slots=True)
class PoleCourse:
    """The lower edge of a course: its height, and its number on each wall that has it there."""

    height: int
    walls: tuple[tuple[str, int], ...]

    @property
    def text(self) -> str:
        """The walls with their numbers, in words."""
        return ", ".join(f"{wall} {number}" for wall, number in self.walls)


@dataclass(frozen=True, slots=True)
class PoleMark:
    """A floor, sill, head or top of a wall, and its height."""

    height: int
    text: str


@dataclass(frozen=True, slots=True)
class Start:
    """Where a wall's siding begins over one bottom edge: above the level line, and above what is there at both ends."""

    wall: str
    over: str
    height: int
    left: int
    right: int


@dataclass(frozen=True, slots=True)
class HousePole:
    """The pole: courses and marks from the lowest, starters wall by wall, and the steps between floors in words.

    ``exposure`` is what a course covers, in ticks; None where all panels stand upright.
    """

    courses: tuple[PoleCourse, ...]
    marks: tuple[PoleMark, ...]
    starts: tuple[Start, ...]
    steps: tuple[str, ...]
    exposure: int | None = None


Numbered = Sequence[tuple[str, Sequence[tuple[int, int]]]]
"""By wall, the heights of its courses' lower edges with their numbers."""


def house_pole(sites: Sequence[Survey], numbered: Numbered, unit: Unit) -> HousePole:
    """Return the pole of the walls of a house, of which there is at least one."""
    found: dict[int, list[tuple[str, int]]] = {}
    for wall, own in numbered:
        for height, number in own:
            found.setdefault(height, []).append((wall, number))
    courses = tuple(PoleCourse(height, tuple(found[height])) for height in sorted(found))
    marks = sorted((mark for site in sites for mark in _marks(site)), key=lambda mark: mark.height)
    starts = tuple(_start(site, floor) for site in sites for floor in site.floors)
    exposure = next((site.house.exposure for site in sites if not site.upright), 0)
    return HousePole(courses, tuple(marks), starts, tuple(_steps(starts, exposure, unit)), exposure or None)


def _marks(site: Survey) -> Iterator[PoleMark]:
    wall, up = site.wall, site.wall.elevation
    for floor in site.floors:
        yield PoleMark(floor.low.y + up, f"{wall.id}: {_over(floor)}")
    for opening in wall.openings:
        fixture = opening.kind is OpeningKind.FIXTURE
        low, high = ("lower edge", "upper edge") if fixture else ("sill", "head")
        yield PoleMark(opening.bottom + up, f"{wall.id}: {low} of {opening.id}")
        yield PoleMark(opening.top + up, f"{wall.id}: {high} of {opening.id}")
    yield PoleMark(max(point.y for point in wall.outline) + up, f"{wall.id}: top")


def _over(floor: Edge) -> str:
    return "the wall's bottom" if floor.border.meets is Meeting.STARTER else f"the {floor.border.meets}"


def _start(site: Survey, floor: Edge) -> Start:
    start = site.start_over(floor)
    left, right = (start - round(floor.y_at(x)) for x in (floor.left, floor.right))
    return Start(site.wall.id, _over(floor), start + site.wall.elevation, left, right)


def _steps(starts: Sequence[Start], exposure: int, unit: Unit) -> Iterator[str]:
    """Yield what lies between floors of different height, in whole courses and what is over."""
    floors = sorted({start.height - min(start.left, start.right): start for start in starts}.items())
    for (low, below), (high, above) in pairwise(floors):
        step = f"from {below.wall}, {below.over}, up to {above.wall}, {above.over}: {say(high - low, unit)}"
        yield f"{step}, {_in_courses(high - low, exposure, unit)}" if exposure else step


def _in_courses(step: int, exposure: int, unit: Unit) -> str:
    courses, rest = divmod(step, exposure)
    over = f" and {say(rest, unit)}" if rest else ""
    return f"which is {courses} course{'s' * (courses != 1)} of {say(exposure, unit)}{over}"
