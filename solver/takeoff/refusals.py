"""What can't be taken off, all at once, in the order of the request; ``wall_problems`` has what concerns one wall."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.errors import Problem, Unplannable
from solver.takeoff.measured import House, Role, Wall
from solver.takeoff.settings import Corners
from solver.takeoff.wall_problems import wall_problems

MOST_COURSES = 2_000
"""Courses of one take-off: some twenty houses."""
MOST_CROSSINGS = 10_000
"""Courses times openings, wall by wall, of one take-off: each costs work."""


def refuse_unmeasurable(house: House) -> None:
    """Raise ``Unplannable`` with every problem of the measurements, in the order of the request."""
    problems, too_many = [*_of_house(house), *_named_twice(house)], [*_too_many(house)]
    if house.exposure > 0 and not too_many:
        problems += [problem for index, wall in enumerate(house.walls) for problem in wall_problems(house, index, wall)]
    if problems or too_many:
        raise Unplannable([*problems, *too_many])


def _of_house(house: House) -> Iterator[Problem]:
    if not (house.walls or house.ceilings or house.eaves):
        yield Problem("nothing_measured", "#", "measure a wall, a ceiling or an eave")
    if house.exposure <= 0 and house.walls:
        yield Problem(
            "no_exposure", "#/exposure", "the exposure must be more than 0: measure from lip to lip of two courses"
        )
    if Role.PANEL not in house.uses and house.walls:
        yield Problem("no_material", "#/uses/panel", "walls need a panel: name the material that serves as panel")
    if (house.coverage or 0) <= 0 and (house.ceilings or house.eaves):
        yield Problem(
            "no_coverage", "#/coverage", "soffit needs its coverage width: measure one panel, hooked into the next"
        )
    mitred = house.settings.corners is Corners.MITRED and house.face is None
    if mitred and any(not opening.own_channel for wall in house.walls for opening in wall.openings):
        yield Problem("no_face", "#/face", "mitred channel needs its face width: measure a scrap")
    known = {material.id for material in house.materials}
    for role, name in house.uses.items():
        if name not in known:
            yield Problem("unknown_material", f"#/uses/{role}", f"{name} is not one of the materials")


def _named_twice(house: House) -> Iterator[Problem]:
    for kind, things in (("wall", house.walls), ("ceiling", house.ceilings), ("eave", house.eaves)):
        for place, name in _repeated([thing.id for thing in things]):
            yield Problem("named_twice", f"#/{kind}s/{place}/id", f"{kind} {name} is listed twice")
    for index, wall in enumerate(house.walls):
        for place, name in _repeated([opening.id for opening in wall.openings]):
            words = f"wall {wall.id}: opening {name} is listed twice"
            yield Problem("named_twice", f"#/walls/{index}/openings/{place}/id", words)


def _repeated(names: Sequence[str]) -> Iterator[tuple[int, str]]:
    return ((place, name) for place, name in enumerate(names) if name in names[:place])


def _too_many(house: House) -> Iterator[Problem]:
    if house.exposure <= 0:
        return
    courses = [_height(wall) // house.exposure for wall in house.walls]
    if sum(courses) > MOST_COURSES:
        words = f"the walls have {sum(courses)} courses at this exposure; one take-off may have {MOST_COURSES}"
        yield Problem("too_many_courses", "#/walls", words)
    crossings = sum(count * len(wall.openings) for count, wall in zip(courses, house.walls, strict=True))
    if crossings > MOST_CROSSINGS:
        words = f"courses times openings come to {crossings}; one take-off may have {MOST_CROSSINGS}"
        yield Problem("too_many_openings", "#/walls", words)


def _height(wall: Wall) -> int:
    heights = [point.y for point in wall.outline]
    return max(heights, default=0) - min(heights, default=0)
