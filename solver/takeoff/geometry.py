"""A wall as geometry: the edges of its outline, and what one course can cover of it.

A course's band is cut at every height where anything changes; between two such heights the wall is a row of
trapezoids, and trapezoids that touch are one panel's shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import combinations, count, pairwise, product

from solver.takeoff.measured import Border, Meeting, Opening, Point, Wall
from solver.takeoff.rules import FLAT

Exact = int | Fraction
"""A place in ticks, exactly; whole ones are ints, which are an order of magnitude faster."""


def _shortest(value: Fraction) -> Exact:
    return value.numerator if value.denominator == 1 else value


class Facing(StrEnum):
    """Which way an edge of a wall faces, out of the wall."""

    LEFT = "left"
    RIGHT = "right"
    BOTTOM = "bottom"
    TOP = "top"


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of an outline, from its lower end to its upper (from left to right where level)."""

    index: int
    low: Point
    high: Point
    facing: Facing
    border: Border

    @property
    def level(self) -> bool:
        """Whether siding begins or ends on a level line along it: a level top, or a bottom level or nearly so."""
        if self.facing is Facing.BOTTOM:
            return _flat(self.low, self.high)
        return self.low.y == self.high.y

    @property
    def pitch(self) -> Fraction | None:
        """Rise over run of a sloping edge, None of an upright one."""
        run = abs(self.high.x - self.low.x)
        return Fraction(self.high.y - self.low.y, run) if run else None

    @property
    def left(self) -> int:
        """Its leftmost x."""
        return min(self.low.x, self.high.x)

    @property
    def right(self) -> int:
        """Its rightmost x."""
        return max(self.low.x, self.high.x)

    def x_at(self, y: Exact) -> Exact:
        """Return where it passes height ``y``; it must not be level there."""
        across, up = self.high.x - self.low.x, self.high.y - self.low.y
        return self.low.x + _shortest(Fraction(across * (y - self.low.y), up)) if across else self.low.x

    def y_at(self, x: int) -> Exact:
        """Return its height at ``x``; it must not be upright."""
        across, up = self.high.x - self.low.x, self.high.y - self.low.y
        return self.low.y + _shortest(Fraction(up * (x - self.low.x), across)) if up else self.low.y


def _flat(low: Point, high: Point) -> bool:
    return FLAT.value * (high.y - low.y) < abs(high.x - low.x)


def edges_of(wall: Wall) -> tuple[Edge, ...]:
    """Return the wall's edges in the order of its outline."""
    points = wall.outline
    turn = 1 if twice_area(points) > 0 else -1
    return tuple(_edge(wall, i, points[i], points[(i + 1) % len(points)], turn) for i in range(len(points)))


def _edge(wall: Wall, index: int, start: Point, end: Point, turn: int) -> Edge:
    facing = _facing(turn * (end.x - start.x), turn * (end.y - start.y))
    low, high = sorted((start, end), key=lambda point: (point.y, point.x))
    return Edge(index, low, high, facing, wall.edges.get(index, _border(wall, facing, low, high)))


def _border(wall: Wall, facing: Facing, low: Point, high: Point) -> Border:
    if facing in (Facing.LEFT, Facing.RIGHT):
        outermost = low.x in (min(p.x for p in wall.outline), max(p.x for p in wall.outline))
        side = wall.left if facing is Facing.LEFT else wall.right
        return side if outermost else wall.step
    if facing is Facing.TOP:
        return wall.top if _flat(low, high) else wall.rake
    return wall.bottom if _flat(low, high) else Border(Meeting.ROOF, wall.bottom.takes_up)


def _facing(across: int, up: int) -> Facing:
    if across:
        return Facing.BOTTOM if across > 0 else Facing.TOP
    return Facing.RIGHT if up > 0 else Facing.LEFT


def twice_area(points: Sequence[Point]) -> int:
    """Return twice the area inside, in square ticks; negative where the points go round clockwise."""
    following = (*points[1:], points[0])
    return sum(a.x * b.y - b.x * a.y for a, b in zip(points, following, strict=True))


def crossing(points: Sequence[Point]) -> tuple[int, int] | None:
    """Return the numbers of two edges that cross or touch where they should not, or None."""
    count = len(points)
    for i, j in combinations(range(count), 2):
        neighbours = j - i == 1 or (i == 0 and j == count - 1)
        ends = points[i], points[(i + 1) % count], points[j], points[(j + 1) % count]
        if _overlap(*ends) if neighbours else _touch(*ends):
            return i, j
    return None


def _turn(a: Point, b: Point, c: Point) -> int:
    cross = (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
    return (cross > 0) - (cross < 0)


def _touch(a: Point, b: Point, c: Point, d: Point) -> bool:
    if _turn(a, b, c) != _turn(a, b, d) and _turn(c, d, a) != _turn(c, d, b):
        return True
    return any(_turn(p, q, r) == 0 and _between(p, r, q) for p, q, r in ((a, b, c), (a, b, d), (c, d, a), (c, d, b)))


def _between(a: Point, b: Point, c: Point) -> bool:
    return min(a.x, c.x) <= b.x <= max(a.x, c.x) and min(a.y, c.y) <= b.y <= max(a.y, c.y)


def _overlap(a: Point, b: Point, c: Point, d: Point) -> bool:
    if len({a, b, c, d}) < 3:
        return True
    shared, one, other = (b, a, d) if b == c else (a, b, c)
    back = (one.x - shared.x) * (other.x - shared.x) + (one.y - shared.y) * (other.y - shared.y)
    return _turn(one, shared, other) == 0 and back > 0


@dataclass(frozen=True, slots=True)
class Block:
    """Where no siding goes: an opening, or what lies beyond a level edge.

    x is as measured; y is with its pockets, and the clearance of edges cut below it.
    """

    left: int
    right: int
    bottom: int
    top: int
    cause: Opening | Edge


@dataclass(frozen=True, slots=True)
class Bound:
    """One side of a slab: what makes it, and its x at the slab's bottom and top."""

    cause: Edge | Block
    low: Exact
    high: Exact

    @property
    def twice_middle(self) -> Exact:
        """Twice its x halfway up."""
        return self.low + self.high


@dataclass(frozen=True, slots=True)
class Slab:
    """A trapezoid of open wall between two heights."""

    bottom: Exact
    top: Exact
    left: Bound
    right: Bound

    @property
    def sloping(self) -> bool:
        """Whether one of its sides slopes."""
        return self.left.low != self.left.high or self.right.low != self.right.high

    @property
    def area(self) -> Fraction:
        """Its area in square ticks."""
        return Fraction((self.right.twice_middle - self.left.twice_middle) * (self.top - self.bottom)) / 2


@dataclass(frozen=True, slots=True)
class Shape:
    """Connected slabs, from the bottom: what one panel, or a run of lapped panels, covers in one course."""

    slabs: tuple[Slab, ...]
    bottom: Exact
    top: Exact
    left: Exact
    right: Exact

    @property
    def area(self) -> Fraction:
        """Its area in square ticks."""
        return sum((slab.area for slab in self.slabs), Fraction(0))


def shapes_in(edges: Sequence[Edge], blocks: Sequence[Block], bottom: int, top: int) -> tuple[Shape, ...]:
    """Return the shapes between two heights, from left to right."""
    near = [block for block in blocks if block.bottom < top and bottom < block.top]
    sides = [edge for edge in edges if edge.low.y < top and bottom < edge.high.y]
    rows = [list(_open_slabs(sides, near, low, high)) for low, high in pairwise(_heights(sides, near, bottom, top))]
    return tuple(sorted(map(_shape, _connected(rows)), key=lambda shape: (shape.left, shape.bottom)))


def _shape(slabs: Sequence[Slab]) -> Shape:
    return Shape(
        tuple(slabs),
        min(slab.bottom for slab in slabs),
        max(slab.top for slab in slabs),
        min(min(slab.left.low, slab.left.high) for slab in slabs),
        max(max(slab.right.low, slab.right.high) for slab in slabs),
    )


def _heights(edges: Sequence[Edge], blocks: Sequence[Block], bottom: int, top: int) -> list[Exact]:
    found: set[Exact] = {y for edge in edges for y in (edge.low.y, edge.high.y)}
    found |= {y for block in blocks for y in (block.bottom, block.top)}
    sloping = [edge for edge in edges if edge.pitch]
    found |= {edge.y_at(x) for edge in sloping for b in blocks for x in (b.left, b.right) if edge.left < x < edge.right}
    return sorted({y for y in found if bottom < y < top} | {bottom, top})


def _open_slabs(edges: Sequence[Edge], blocks: Sequence[Block], low: Exact, high: Exact) -> Iterator[Slab]:
    across = sorted(_bounds(edges, low, high), key=lambda bound: (bound.twice_middle, bound.low))
    covering = [block for block in blocks if block.bottom <= low and high <= block.top]
    covering.sort(key=lambda block: block.left)
    for left, right in zip(across[::2], across[1::2], strict=True):
        yield from _without(Slab(low, high, left, right), covering)


def _bounds(edges: Sequence[Edge], low: Exact, high: Exact) -> Iterator[Bound]:
    for edge in edges:
        if edge.low.y <= low and high <= edge.high.y:
            yield Bound(edge, edge.x_at(low), edge.x_at(high))


def _without(slab: Slab, blocks: Sequence[Block]) -> Iterator[Slab]:
    left = slab.left
    for block in blocks:
        if 2 * block.right <= left.twice_middle or 2 * block.left >= slab.right.twice_middle:
            continue
        if 2 * block.left > left.twice_middle:
            yield Slab(slab.bottom, slab.top, left, Bound(block, block.left, block.left))
        left = Bound(block, block.right, block.right)
    if left.twice_middle < slab.right.twice_middle:
        yield Slab(slab.bottom, slab.top, left, slab.right)


def _connected(rows: Sequence[Sequence[Slab]]) -> Iterable[list[Slab]]:
    """Return the slabs of rows that lie one on the other in groups that touch, each from its bottom."""
    numbers = count()
    numbered = [[(next(numbers), slab) for slab in row] for row in rows]
    leader = {number: number for row in numbered for number, _ in row}
    for below, above in pairwise(numbered):
        for (i, one), (j, other) in product(below, above):
            if _adjoin(one, other):
                leader[_first(leader, j)] = _first(leader, i)
    groups: dict[int, list[Slab]] = {}
    for row in numbered:
        for number, slab in row:
            groups.setdefault(_first(leader, number), []).append(slab)
    return groups.values()


def _first(leader: Mapping[int, int], number: int) -> int:
    while leader[number] != number:
        number = leader[number]
    return number


def _adjoin(below: Slab, above: Slab) -> bool:
    return max(below.left.high, above.left.low) < min(below.right.high, above.right.low)
