"""What can't be taken off, all at once, in the order of the request: of the house, then of each wall."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import ceil

from solver.categories import Hangs
from solver.errors import Problem, Unplannable
from solver.lengths import Unit, say
from solver.takeoff.geometry import Block, Exact, Facing, crossing, edges_of, shapes_in, twice_area
from solver.takeoff.measured import Border, House, Meeting, Opening, OpeningKind, Point, Role, Wall
from solver.takeoff.rules import Corners
from solver.takeoff.soffits import corner_faults
from solver.takeoff.survey import survey

_SIDES = frozenset({Meeting.OUTSIDE_POST, Meeting.INSIDE_POST, Meeting.CHANNEL, Meeting.MASONRY})
_MAY_MEET = {
    Facing.LEFT: _SIDES,
    Facing.RIGHT: _SIDES,
    Facing.BOTTOM: frozenset({Meeting.STARTER, Meeting.DECK, Meeting.ROOF, Meeting.MASONRY}),
    Facing.TOP: frozenset({Meeting.SOFFIT, Meeting.SOFFIT_LATER, Meeting.CHANNEL, Meeting.MASONRY}),
}
MOST_COURSES = 2_000
"""Courses of one take-off: some twenty houses."""
MOST_CROSSINGS = 10_000
"""Courses times openings, wall by wall, of one take-off: each costs work."""


def wall_problems(house: House, index: int, wall: Wall) -> Iterator[Problem]:
    """Yield every problem of one wall and its openings; an outline that is none hides the rest."""
    here = f"#/walls/{index}"
    if not _encloses(wall.outline):
        words = f"wall {wall.id}: its outline closes around nothing: give at least three corners not in one line"
        yield Problem("outline_not_closed", f"{here}/outline", words)
        return
    if crossed := crossing(wall.outline):
        yield Problem("outline_crosses", f"{here}/outline", _crossed(house.unit, wall, *crossed))
        return
    if _doubles_back(wall):
        words = (
            f"wall {wall.id}: its outline doubles back over itself; measure the upper and the lower part as two walls"
        )
        yield Problem("outline_doubles_back", f"{here}/outline", words)
        return
    yield from _posts(here, wall)
    if house.for_wall(wall).exposure > 0:
        yield from _heights(house, here, wall)
    for place, opening in enumerate(wall.openings):
        yield from _of_opening(house, f"{here}/openings/{place}", wall, opening)
    for (_, one), (place, other) in combinations(enumerate(wall.openings), 2):
        if _overlap(one, other):
            words = f"wall {wall.id}: {other.kind} {other.id} overlaps {one.kind} {one.id}; measure both again"
            yield Problem("openings_overlap", f"{here}/openings/{place}", words)


def _encloses(points: Sequence[Point]) -> bool:
    """Whether three of the points are not in one line."""
    return any(twice_area(corner) for corner in combinations(dict.fromkeys(points), 3))


def _crossed(unit: Unit, wall: Wall, one: int, other: int) -> str:
    edges = " and ".join(_edge_words(unit, wall, number) for number in (one, other))
    return f"wall {wall.id}: its outline cuts itself, the edge {edges}; list its corners in order, each once"


def _edge_words(unit: Unit, wall: Wall, number: int) -> str:
    points = wall.outline[number], wall.outline[(number + 1) % len(wall.outline)]
    return " to ".join(f"({say(point.x, unit)}, {say(point.y, unit)})" for point in points)


def _doubles_back(wall: Wall) -> bool:
    """Whether some upright line meets two bottoms: their widths then add up to more than the wall's."""
    width = max(point.x for point in wall.outline) - min(point.x for point in wall.outline)
    return sum(edge.right - edge.left for edge in edges_of(wall) if edge.facing is Facing.BOTTOM) > width


def _posts(here: str, wall: Wall) -> Iterator[Problem]:
    for edge in edges_of(wall):
        if edge.border.meets.is_post and edge.border.takes_up is None and edge.facing in (Facing.LEFT, Facing.RIGHT):
            words = (
                f"wall {wall.id}: give the depth of the post at its {edge.facing}, "
                "from the measured corner to the back of its pocket: measure a scrap of post"
            )
            yield Problem("takes_up_missing", f"{here}/{edge.facing}/takes_up", words)


def _heights(house: House, here: str, wall: Wall) -> Iterator[Problem]:
    unit, site = house.unit, survey(house, wall)
    house = site.house
    bottom, top = min(p.y for p in wall.outline), max(p.y for p in wall.outline)
    floors = [floor for floor in site.floors if site.start_over(floor) >= top]
    if top - bottom < house.exposure and not site.upright:
        words = (
            f"wall {wall.id} is {say(top - bottom, unit)} high, lower than one course of {say(house.exposure, unit)}"
        )
        yield Problem("lower_than_a_course", here, words)
    elif floors:
        words = (
            f"wall {wall.id}: siding over the {floors[0].border.meets} would begin at "
            f"{say(site.start_over(floors[0]), unit)}, above its top at {say(top, unit)}; check its levels"
        )
        yield Problem("floor_above_top", f"{here}/bottom", words)
    for edge in site.edges:
        if edge.border.meets not in _MAY_MEET[edge.facing]:
            words = f"wall {wall.id}: its {edge.facing} (edge {edge.index}) can't meet {edge.border.meets}"
            yield Problem("meets_nonsense", f"{here}/{edge.facing}", words)


def _of_opening(house: House, here: str, wall: Wall, opening: Opening) -> Iterator[Problem]:
    name = f"wall {wall.id}: {opening.kind} {opening.id}"
    if opening.width <= 0 or opening.height <= 0:
        yield Problem("no_size", here, f"{name} has no width or no height")
        return
    left, right = min(p.x for p in wall.outline), max(p.x for p in wall.outline)
    if opening.left < left or opening.right > right:
        reaches = f"reaches from {say(opening.left, house.unit)} to {say(opening.right, house.unit)}"
        words = f"{name} {reaches}; the wall goes from {say(left, house.unit)} to {say(right, house.unit)}"
        yield Problem("opening_sticks_out", here, words)
    elif not _inside(wall, opening):
        words = f"{name} floats above or hangs below the wall's outline; measure its height again"
        yield Problem("opening_off_the_wall", here, words)


def _inside(wall: Wall, opening: Opening) -> bool:
    """Whether the opening lies on the wall: cut out of the outline, it takes its whole area.

    A door may reach below the wall.
    """
    edges = edges_of(wall)
    low, high = opening.bottom, opening.top
    if opening.kind is OpeningKind.DOOR:
        low = max(low, *(ceil(y) for y in _floor_under(wall, opening)))
    block = Block(opening.left, opening.right, low, high, opening)
    whole, less = (sum(shape.area for shape in shapes_in(edges, blocks, low, high)) for blocks in ((), (block,)))
    return low < high and whole - less == opening.width * (high - low)


def _floor_under(wall: Wall, opening: Opening) -> Iterator[Exact]:
    """The wall's bottom below both sides of an opening, and wherever it steps between them."""
    for edge in edges_of(wall):
        if edge.facing is Facing.BOTTOM and edge.left < opening.right and opening.left < edge.right:
            yield edge.y_at(max(edge.left, opening.left))
            yield edge.y_at(min(edge.right, opening.right))


def _overlap(one: Opening, other: Opening) -> bool:
    across = one.left < other.right and other.left < one.right
    return across and one.bottom < other.top and other.bottom < one.top


def refuse_unmeasurable(house: House) -> None:
    """Raise ``Unplannable`` with every problem of the measurements, in the order of the request."""
    if problems := [*house_problems(house, range(len(house.walls)))]:
        raise Unplannable(problems)


def house_problems(house: House, places: Sequence[int]) -> Iterator[Problem]:
    """Yield every problem of the measurements of a house, whose walls stand at ``places`` in the request."""
    yield from _of_house(house, places)
    yield from _named_twice(house, places)
    yield from _corner_problems(house, places)
    yield from _panels_named(house, places)
    too_many = tuple(_too_many(house))
    yield from too_many
    if not too_many:
        for place, wall in zip(places, house.walls, strict=True):
            yield from wall_problems(house, place, wall)


def _of_house(house: House, places: Sequence[int]) -> Iterator[Problem]:
    if not (house.walls or house.ceilings or house.eaves):
        yield Problem("nothing_measured", "#", "measure a wall, a ceiling or an eave")
    if house.exposure <= 0 and any(house.panel(wall) is None for wall in house.walls):
        yield Problem(
            "no_exposure", "#/exposure", "the exposure must be more than 0: measure from lip to lip of two courses"
        )
    if Role.PANEL not in house.uses and any(house.panel(wall) is None for wall in house.walls):
        yield Problem("no_material", "#/uses/panel", "walls need a panel: name the material used as panel")
    if (house.coverage or 0) <= 0 and (house.ceilings or house.eaves):
        yield Problem(
            "no_coverage", "#/coverage", "soffit needs its coverage width: measure one panel, hooked into the next"
        )
    mitred = house.settings.corners is Corners.MITRED and house.face is None
    if mitred and any(not opening.own_channel for wall in house.walls for opening in wall.openings):
        yield Problem("no_face", "#/face", "mitred channel needs its face width: measure a scrap")
    for place, name in _materials_named(house, places):
        if house.material(name) is None:
            yield Problem("unknown_material", f"#/{place}", f"{name} is not one of the materials")


def _panels_named(house: House, places: Sequence[int]) -> Iterator[Problem]:
    known = {panel.material for panel in house.panels}
    for index, wall in zip(places, house.walls, strict=True):
        if wall.panel is not None and wall.panel not in known:
            words = f"wall {wall.id}: {wall.panel} is not one of the panels; say in panels what shows of it"
            yield Problem("unknown_panel", f"#/walls/{index}/panel", words)


def _materials_named(house: House, places: Sequence[int]) -> Iterator[tuple[str, str]]:
    yield from ((f"uses/{role}", name) for role, name in house.uses.items())
    for index, wall in zip(places, house.walls, strict=True):
        for side, border in (("left", wall.left), ("right", wall.right)):
            if border.material is not None:
                yield f"walls/{index}/{side}/material", border.material
    for index, panel in enumerate(house.panels):
        yield f"panels/{index}/material", panel.material


def _corner_problems(house: House, places: Sequence[int]) -> Iterator[Problem]:
    """Yield what is wrong with corners that eaves share, and those that walls, at ``places`` in the request, share.

    At a wall's corner two walls end, by a post of one kind.
    """
    yield from (Problem(code, f"#/eaves/{place}", words) for place, code, words in corner_faults(house))
    ends: dict[str, list[_WallEnd]] = {}
    for end in _wall_ends(house, places):
        ends.setdefault(end.border.corner or "", []).append(end)
    for corner, met in ends.items():
        for place, end in enumerate(met):
            beside = [other for other in met[:place] if other.beside(end)]
            if others := [other for other in beside if other.index == end.index and other.facing is not end.facing]:
                words = f"wall {end.name} begins and ends at corner {corner}; give its {end.facing} another name"
                yield Problem("walls_cross", f"{end.pointer}/corner", words)
            elif len(others := list({other.index: other for other in beside if other.index != end.index}.values())) > 1:
                names = " and ".join(other.name for other in others)
                words = f"wall {end.name} crosses {names} at corner {corner}; two walls meet at a corner"
                yield Problem("walls_cross", f"{end.pointer}/corner", words)
            elif others and others[0].border.meets is not end.border.meets:
                one, other = (f"wall {met.name} meets an {met.border.meets}" for met in (others[0], end))
                words = f"at corner {corner} {one}, {other}".replace("_", " ")
                yield Problem("corner_disagrees", f"{end.pointer}/meets", words)


@dataclass(frozen=True, slots=True)
class _WallEnd:
    """One upright edge of a wall with a named corner, in heights above the house's level line."""

    index: int
    name: str
    facing: Facing
    border: Border
    bottom: int
    top: int

    @property
    def pointer(self) -> str:
        """Where the request says what it meets."""
        return f"#/walls/{self.index}/{self.facing}"

    def beside(self, other: _WallEnd) -> bool:
        """Whether both stand at one height, and not one above the other as a wall's upper and lower part do."""
        same = (self.index, self.facing) == (other.index, other.facing)
        return not same and self.bottom < other.top and other.bottom < self.top


def _wall_ends(house: House, places: Sequence[int]) -> Iterator[_WallEnd]:
    for index, wall in zip(places, house.walls, strict=True):
        for edge in edges_of(wall):
            if edge.border.corner and edge.facing in (Facing.LEFT, Facing.RIGHT):
                low, high = edge.low.y + wall.elevation, edge.high.y + wall.elevation
                yield _WallEnd(index, wall.id, edge.facing, edge.border, low, high)


def _named_twice(house: House, places: Sequence[int]) -> Iterator[Problem]:
    every = (
        ("wall", house.walls, places),
        ("ceiling", house.ceilings, range(len(house.ceilings))),
        ("eave", house.eaves, range(len(house.eaves))),
    )
    for kind, things, at in every:
        for place, name in _repeated([thing.id for thing in things]):
            yield Problem("named_twice", f"#/{kind}s/{at[place]}/id", f"{kind} {name} is listed twice")
    for index, wall in zip(places, house.walls, strict=True):
        for place, name in _repeated([opening.id for opening in wall.openings]):
            words = f"wall {wall.id}: opening {name} is listed twice"
            yield Problem("named_twice", f"#/walls/{index}/openings/{place}/id", words)


def _repeated(names: Sequence[str]) -> Iterator[tuple[int, str]]:
    return ((place, name) for place, name in enumerate(names) if name in names[:place])


def _too_many(house: House) -> Iterator[Problem]:
    shown = ((wall, house.for_wall(wall).exposure) for wall in house.walls)
    courses = [_reach(house, wall) // exposure if exposure > 0 else 0 for wall, exposure in shown]
    if sum(courses) > MOST_COURSES:
        words = f"the walls have {sum(courses)} courses at this exposure; one take-off may have {MOST_COURSES}"
        yield Problem("too_many_courses", "#/walls", words)
    crossings = sum(count * len(wall.openings) for count, wall in zip(courses, house.walls, strict=True))
    if crossings > MOST_CROSSINGS:
        words = f"courses times openings come to {crossings}; one take-off may have {MOST_CROSSINGS}"
        yield Problem("too_many_openings", "#/walls", words)


def _reach(house: House, wall: Wall) -> int:
    """How far a wall's courses stand one above the other, or its upright panels side by side."""
    across = house.hangs(wall) is Hangs.COLUMNS
    places = [point.x if across else point.y for point in wall.outline]
    return max(places, default=0) - min(places, default=0)
