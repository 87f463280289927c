"""What one course can cover: the outline cut to the course's band, less what blocks it, as connected shapes.

A band is cut at every height where anything changes; between two such heights the wall is a row of
trapezoids, and trapezoids that touch are one panel's shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import count, pairwise, product

from solver.takeoff.measured import Opening
from solver.takeoff.outline import Edge, Exact


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
            if _touch(one, other):
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


def _touch(below: Slab, above: Slab) -> bool:
    return max(below.left.high, above.left.low) < min(below.right.high, above.right.low)
