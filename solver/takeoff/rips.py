"""Rips: panels cut lengthwise under a soffit or over a floor, with their heights at both ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import ceil, floor

from solver.lengths import Unit, say
from solver.takeoff.answer import Rip
from solver.takeoff.bands import Block, Shape
from solver.takeoff.ends import Allow
from solver.takeoff.levels import Band, takes_up
from solver.takeoff.outline import Edge, Exact, Facing
from solver.takeoff.rules import FLAT


def rips_of(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> tuple[Rip, ...]:
    """Return how the panels of a run are ripped: at the top if they end under something, at the bottom over a floor."""
    found = [_top(shape, band, blocks, allow), _bottom(shape, band, blocks, allow)]
    return tuple(rip for rip in found if rip)


def _top(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> Rip | None:
    clearance = allow.settings.height_clearance
    if any(block.bottom == shape.top and _spans(block, shape) for block in blocks):
        full = floor(shape.top) - band.bottom + clearance
        return Rip(full - clearance, full - clearance, _under(full, clearance, allow.unit), keeps_lip=True)
    slopes = list(_flat_tops(shape))
    if not slopes:
        return None
    left, right = (_height_at(slopes, x, band) - clearance for x in (shape.left, shape.right))
    return Rip(left, right, _tapered(left, right, "along a top that is out of level", allow.unit), keeps_lip=True)


def _under(full: int, clearance: int, unit: Unit) -> str:
    return (
        f"{say(full, unit)} from the lip to the back of the pocket less {say(clearance, unit)} = "
        f"{say(full - clearance, unit)} high: lock and hem are cut off, utility trim and snap locks hold it"
    )


def _height_at(tops: Sequence[Edge], x: Exact, band: Band) -> int:
    return min(band.top, *(floor(edge.y_at(round(x))) for edge in tops)) - band.bottom


def _flat_tops(shape: Shape) -> Iterator[Edge]:
    for bound in (b for slab in shape.slabs for b in (slab.left, slab.right)):
        edge = bound.cause
        if isinstance(edge, Edge) and edge.facing is Facing.TOP and edge.pitch and edge.pitch < Fraction(1, FLAT.value):
            yield edge


def _bottom(shape: Shape, band: Band, blocks: Sequence[Block], allow: Allow) -> Rip | None:
    for block in blocks:
        if band.bottom < block.top == shape.bottom and _spans(block, shape):
            left, right = (band.top - y for y in _lower_edge(block, allow))
            return Rip(left, right, _tapered(left, right, _NO_LOCK, allow.unit), keeps_lip=False)
    return None


def _lower_edge(block: Block, allow: Allow) -> tuple[int, int]:
    """The heights at both ends of what a panel stands on: a floor may slope, a head is level."""
    edge = block.cause
    if not isinstance(edge, Edge):
        return block.top, block.top
    taken = takes_up(edge, allow.settings)
    return ceil(edge.y_at(edge.left)) + taken, ceil(edge.y_at(edge.right)) + taken


_NO_LOCK = "above what is below it: its lock is cut off, so furring and utility trim hold it"


def _tapered(left: int, right: int, why: str, unit: Unit) -> str:
    if left == right:
        return f"{say(left, unit)} high {why}"
    return f"{say(left, unit)} high at the left, {say(right, unit)} at the right {why}"


def _spans(block: Block, shape: Shape) -> bool:
    return block.left <= shape.left and shape.right <= block.right
