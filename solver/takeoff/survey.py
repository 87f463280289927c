"""A wall made ready: its edges, where its courses lie, and where no siding goes.

One course line of the house runs over every wall. Starter heights are never measured off a sloping floor, always
from the house's level line, so that courses meet at the corners.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from solver.categories import Hangs
from solver.takeoff import rules
from solver.takeoff.geometry import Block, Edge, Facing, edges_of
from solver.takeoff.goods import Begin
from solver.takeoff.measured import Finish, House, Meeting, Opening, OpeningKind, Wall
from solver.takeoff.rules import Settings


@dataclass(frozen=True, slots=True)
class Band:
    """One course: its number on its wall (1 is the lowest), its lower edge and its upper edge, from the wall's zero."""

    number: int
    bottom: int
    top: int


def takes_up(edge: Edge, settings: Settings) -> int:
    """Return the distance, square to the edge, from the measured line to the back of its pocket, in ticks.

    Where it was not measured: over a floor or roof the clearance of the settings, else 0 (the channel's back
    stands on the measured line: geometry). A post's has no default; ``refusals`` asks for it.
    """
    if edge.border.takes_up is not None:
        return edge.border.takes_up
    over_floor = edge.facing is Facing.BOTTOM and edge.border.meets is not Meeting.STARTER
    return settings.above_floor if over_floor else 0


def course_line(house: House, wall: Wall, edges: Sequence[Edge]) -> int:
    """Return the height of one course's lower edge on the wall, from the wall's zero.

    That is the house's course line, unless the wall is finished with a starter behind a channel on its floor.
    """
    floors = [edge for edge in edges if edge.facing is Facing.BOTTOM and edge.level]
    if wall.finish is Finish.CHANNEL and floors:
        return max(edge.high.y + takes_up(edge, house.settings) for edge in floors)
    return house.course_line - wall.elevation


def first_line(house: House, wall: Wall, edge: Edge, line: int) -> int:
    """Return the height where siding begins over a level bottom edge, from the wall's zero."""
    least = edge.high.y + takes_up(edge, house.settings)
    if house.hangs(wall) is Hangs.COLUMNS:
        return least
    if edge.border.meets is Meeting.STARTER:
        least -= rules.STARTER_MAY_HANG.value
    elif wall.finish is Finish.RIP:
        return least
    return line + ceil_div(least - line, house.exposure) * house.exposure


def blocks_of(house: House, wall: Wall, edges: Sequence[Edge]) -> tuple[Block, ...]:
    """Return where no siding goes on the wall: its openings, the strips over floors, what lies above its top."""
    line = course_line(house, wall, edges)
    heights = [point.y for point in wall.outline]
    low, high = min(heights) - house.exposure, max(heights) + house.exposure
    floors = [e for e in edges if e.facing is Facing.BOTTOM and e.level]
    below = [beyond(edges, e, low, first_line(house, wall, e, line)) for e in floors]
    settings = house.settings
    taken = {e: takes_up(e, settings) + settings.height_clearance for e in edges if _stops_siding(e)}
    above = [beyond(edges, e, e.low.y - off, high) for e, off in taken.items()]
    return (*(opening_block(opening, settings) for opening in wall.openings), *below, *above)


def _stops_siding(edge: Edge) -> bool:
    return edge.facing is Facing.TOP and edge.level and edge.border.meets is not Meeting.SOFFIT_LATER


def opening_block(opening: Opening, settings: Settings) -> Block:
    """Return where an opening lets no siding go, with its pockets and the clearance of edges cut beside them."""
    pockets = opening.takes_up
    bottom = opening.bottom + min(0, opening.rises) - pockets.sill - settings.height_clearance
    fixture = opening.kind is OpeningKind.FIXTURE
    clearance = settings.cut_out_clearance if fixture else settings.height_clearance
    top = opening.top + max(0, opening.rises) + pockets.head + clearance
    return Block(opening.left, opening.right, bottom, top, opening)


def beyond(edges: Sequence[Edge], edge: Edge, bottom: int, top: int) -> Block:
    """Return what lies beyond a level edge, between two heights, as far as its neighbours slope away."""
    inner = top if edge.facing is Facing.BOTTOM else bottom
    slopes = [other for other in edges if not other.level and other.pitch and _meet(edge, other)]
    reached = [other.x_at(_within(other, inner)) for other in slopes]
    left = min([edge.left, *map(floor, reached)])
    right = max([edge.right, *map(ceil, reached)])
    return Block(left, right, bottom, top, edge)


def _meet(edge: Edge, other: Edge) -> bool:
    return bool({edge.low, edge.high} & {other.low, other.high})


def _within(edge: Edge, y: int) -> Fraction:
    return Fraction(min(max(y, edge.low.y), edge.high.y))


def bands_of(house: House, wall: Wall, edges: Sequence[Edge]) -> tuple[Band, ...]:
    """Return the courses that may lie on the wall, from the lowest, whether or not anything of them is open."""
    line = course_line(house, wall, edges)
    starts = [first_line(house, wall, e, line) for e in edges if e.facing is Facing.BOTTOM and e.level]
    starts += [e.low.y for e in edges if e.facing is Facing.BOTTOM and not e.level]
    lowest = line + (min(starts) - line) // house.exposure * house.exposure
    top = max(point.y for point in wall.outline)
    count = ceil_div(top - lowest, house.exposure)
    return tuple(Band(n + 1, lowest + n * house.exposure, lowest + (n + 1) * house.exposure) for n in range(count))


def ceil_div(a: int, b: int) -> int:
    """Return a / b rounded up."""
    return -(-a // b)


@dataclass(frozen=True, slots=True)
class Survey:
    """What follows from the measurements of one wall alone; heights are from the wall's zero."""

    house: House
    wall: Wall
    edges: tuple[Edge, ...]
    line: int
    blocks: tuple[Block, ...]
    bands: tuple[Band, ...]

    @property
    def upright(self) -> bool:
        """Whether its panels hang upright."""
        return self.house.hangs(self.wall) is Hangs.COLUMNS

    def facing(self, facing: Facing) -> tuple[Edge, ...]:
        """Return the edges that face one way, in the order of the outline."""
        return tuple(edge for edge in self.edges if edge.facing is facing)

    @property
    def floors(self) -> tuple[Edge, ...]:
        """The bottom edges that siding begins over on a level line."""
        return tuple(edge for edge in self.facing(Facing.BOTTOM) if edge.level)

    def start_over(self, floor: Edge) -> int:
        """Return the height where siding begins over a floor."""
        return first_line(self.house, self.wall, floor, self.line)


def begins(site: Survey) -> Begin:
    """Return where the panels of a wall begin."""
    panel = site.house.panel(site.wall)
    return panel.begin if panel else Begin.LEFT


def sided_below(site: Survey, opening: Opening) -> bool:
    """Whether a panel is notched under an opening: under every window, and under a door that stands above its floor."""
    under = [floor for floor in site.floors if floor.left < opening.right and opening.left < floor.right]
    on_floor = any(opening.bottom <= floor.high.y for floor in under)
    return opening.kind is OpeningKind.WINDOW or (opening.kind is OpeningKind.DOOR and not on_floor)


def survey(house: House, wall: Wall) -> Survey:
    """Return the wall made ready, with the panel that covers it in use."""
    house = house.for_wall(wall)
    edges = edges_of(wall)
    line = course_line(house, wall, edges)
    return Survey(house, wall, edges, line, blocks_of(house, wall, edges), bands_of(house, wall, edges))
