"""What one course can cover: the outline cut to the course's band, less what blocks it, as connected shapes.

A band is cut at every height where anything changes; between two such heights the wall is a row of
trapezoids, and trapezoids that touch are one panel's shape.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from solver.takeoff.measured import Opening
from solver.takeoff.outline import Edge


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
    low: Fraction
    high: Fraction

    @property
    def middle(self) -> Fraction:
        """Its x halfway up."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Slab:
    """A trapezoid of open wall between two heights."""

    bottom: Fraction
    top: Fraction
    left: Bound
    right: Bound

    @property
    def sloping(self) -> bool:
        """Whether one of its sides slopes."""
        return self.left.low != self.left.high or self.right.low != self.right.high

    @property
    def area(self) -> Fraction:
        """Its area in square ticks."""
        return (self.right.middle - self.left.middle) * (self.top - self.bottom)


@dataclass(frozen=True, slots=True)
class Shape:
    """Connected slabs, from the bottom: what one panel, or a run of lapped panels, covers in one course."""

    slabs: tuple[Slab, ...]

    @property
    def bottom(self) -> Fraction:
        """Its lowest height."""
        return min(slab.bottom for slab in self.slabs)

    @property
    def top(self) -> Fraction:
        """Its highest height."""
        return max(slab.top for slab in self.slabs)

    @property
    def left(self) -> Fraction:
        """Its leftmost x."""
        return min(min(slab.left.low, slab.left.high) for slab in self.slabs)

    @property
    def right(self) -> Fraction:
        """Its rightmost x."""
        return max(max(slab.right.low, slab.right.high) for slab in self.slabs)

    @property
    def area(self) -> Fraction:
        """Its area in square ticks."""
        return sum((slab.area for slab in self.slabs), Fraction(0))


def shapes_in(edges: Sequence[Edge], blocks: Sequence[Block], bottom: int, top: int) -> tuple[Shape, ...]:
    """Return the shapes between two heights, from left to right."""
    near = [block for block in blocks if block.bottom < top and bottom < block.top]
    sides = [edge for edge in edges if edge.low.y < top and bottom < edge.high.y]
    slabs = [
        slab
        for low, high in pairwise(_heights(sides, near, bottom, top))
        for slab in _open_slabs(sides, near, low, high)
    ]
    return tuple(sorted(map(Shape, _connected(slabs)), key=lambda shape: (shape.left, shape.bottom)))


def _heights(edges: Sequence[Edge], blocks: Sequence[Block], bottom: int, top: int) -> list[Fraction]:
    found = {Fraction(y) for edge in edges for y in (edge.low.y, edge.high.y)}
    found |= {Fraction(y) for block in blocks for y in (block.bottom, block.top)}
    found |= {edge.y_at(x) for edge in edges for block in blocks for x in (block.left, block.right) if _passes(edge, x)}
    return sorted({y for y in found if bottom < y < top} | {Fraction(bottom), Fraction(top)})


def _passes(edge: Edge, x: int) -> bool:
    return edge.left < x < edge.right


def _open_slabs(edges: Sequence[Edge], blocks: Sequence[Block], low: Fraction, high: Fraction) -> Iterator[Slab]:
    across = sorted(_bounds(edges, low, high), key=lambda bound: (bound.middle, bound.low))
    covering = [block for block in blocks if block.bottom <= low and high <= block.top]
    for left, right in zip(across[::2], across[1::2], strict=True):
        yield from _without(Slab(low, high, left, right), covering)


def _bounds(edges: Sequence[Edge], low: Fraction, high: Fraction) -> Iterator[Bound]:
    for edge in edges:
        if edge.low.y <= low and high <= edge.high.y:
            yield Bound(edge, edge.x_at(low), edge.x_at(high))


def _without(slab: Slab, blocks: Sequence[Block]) -> Iterator[Slab]:
    left = slab.left
    for block in sorted(blocks, key=lambda block: block.left):
        if block.right <= left.middle or block.left >= slab.right.middle:
            continue
        if block.left > left.middle:
            yield Slab(slab.bottom, slab.top, left, _side(block, block.left))
        left = _side(block, block.right)
    if left.middle < slab.right.middle:
        yield Slab(slab.bottom, slab.top, left, slab.right)


def _side(block: Block, x: int) -> Bound:
    return Bound(block, Fraction(x), Fraction(x))


def _connected(slabs: Sequence[Slab]) -> Iterable[tuple[Slab, ...]]:
    groups: list[tuple[Slab, ...]] = []
    for slab in slabs:
        touching = [group for group in groups if any(_touch(below, slab) for below in group)]
        groups = [group for group in groups if group not in touching]
        groups.append((*(part for group in touching for part in group), slab))
    return groups


def _touch(below: Slab, above: Slab) -> bool:
    if below.top != above.bottom:
        return False
    return max(below.left.high, above.left.low) < min(below.right.high, above.right.low)
