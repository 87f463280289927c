"""A wall made ready: its edges, its course line, where no siding goes, and its courses' bands."""

from __future__ import annotations

from dataclasses import dataclass

from solver.takeoff.bands import Block
from solver.takeoff.levels import Band, bands_of, blocks_of, course_line, first_line
from solver.takeoff.measured import House, Wall
from solver.takeoff.outline import Edge, Facing, edges_of


@dataclass(frozen=True, slots=True)
class Survey:
    """What follows from the measurements of one wall alone; heights are from the wall's zero."""

    house: House
    wall: Wall
    edges: tuple[Edge, ...]
    line: int
    blocks: tuple[Block, ...]
    bands: tuple[Band, ...]

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


def survey(house: House, wall: Wall) -> Survey:
    """Return the wall made ready."""
    edges = edges_of(wall)
    line = course_line(house, wall, edges)
    return Survey(house, wall, edges, line, blocks_of(house, wall, edges), bands_of(house, wall, edges))
