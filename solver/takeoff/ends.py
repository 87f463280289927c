"""The two ends of a run: from the measured line to the back of the pocket, upright or along a slope."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from solver.lengths import Unit
from solver.required import Edge as PanelEdge
from solver.required import End, Meets, Side
from solver.takeoff.answer import RunEnd
from solver.takeoff.bands import Block, Bound, Shape
from solver.takeoff.levels import takes_up
from solver.takeoff.measured import House, Opening, Point
from solver.takeoff.outline import Edge, Exact, Facing
from solver.takeoff.settings import Settings
from solver.takeoff.slopes import along, slope_of, step_of


@dataclass(frozen=True, slots=True)
class Allow:
    """What holds for every end on a wall: settings, the expansion gap, and where the wall begins and ends.

    ``hem`` is how far a panel reaches above its exposure: over a sloping roof it is the long edge.
    """

    settings: Settings
    unit: Unit
    gap: int
    hem: int
    left: int
    right: int


def allow_for(house: House, gap: int, outline: Sequence[Point]) -> Allow:
    """Return what holds for the ends on a wall with the given outline."""
    left, right = min(point.x for point in outline), max(point.x for point in outline)
    return Allow(house.settings, house.unit, gap, house.hem, left, right)


def run_end(shape: Shape, side: Side, allow: Allow) -> RunEnd:
    """Return one end of the run that covers ``shape``; the long edge governs."""
    bound, place = _governing(shape, side)
    taken = _takes_up(bound, side, allow.settings)
    slope = slope_of(bound, side)
    if slope is None:
        partly = next((s for b in _outermost(shape, side) if (s := slope_of(b, side))), None)
        return RunEnd(_what(bound), place, taken, 0, allow.gap, End(Meets.CHANNEL, partly))
    taken, gap = along(taken, slope.pitch), along(allow.gap, slope.pitch)
    place = _at_hem(place, bound, side, allow.hem) if slope.long_edge is PanelEdge.TOP else place
    place_in = place - allow.left if side is Side.LEFT else allow.right - place
    pocket = _up_to(place_in + taken + gap - allow.gap, step_of(allow.unit))
    return RunEnd(_what(bound), place, taken, pocket - place_in - taken, allow.gap, End(Meets.CHANNEL, slope))


def _at_hem(place: Exact, bound: Bound, side: Side, hem: int) -> Exact:
    """Where the slope passes the top of the hem, or where it ends if that comes first."""
    edge = bound.cause
    if not isinstance(edge, Edge) or not edge.pitch:
        return place
    out = hem / edge.pitch
    places: tuple[Exact, Exact] = (place - out, edge.left) if side is Side.LEFT else (place + out, edge.right)
    return max(places) if side is Side.LEFT else min(places)


def _up_to(value: Exact, step: int) -> int:
    """Round up to the step, so that the panel is never too long."""
    return ceil(Fraction(value) / step) * step


def _outermost(shape: Shape, side: Side) -> Sequence[Bound]:
    """The outermost bound of each height of the shape."""
    heights = sorted({slab.bottom for slab in shape.slabs})
    rows = ([slab for slab in shape.slabs if slab.bottom == y] for y in heights)
    if side is Side.LEFT:
        return [min((slab.left for slab in row), key=lambda b: b.twice_middle) for row in rows]
    return [max((slab.right for slab in row), key=lambda b: b.twice_middle) for row in rows]


def _governing(shape: Shape, side: Side) -> tuple[Bound, Exact]:
    """The bound that reaches farthest, and its place; an upright one before a sloping one that ends there."""
    sign = 1 if side is Side.LEFT else -1
    bounds = _outermost(shape, side)
    reach = {id(b): min(sign * b.low, sign * b.high) for b in bounds}
    best = min(bounds, key=lambda b: (reach[id(b)], b.low != b.high, isinstance(b.cause, Block)))
    return best, sign * reach[id(best)]


def _takes_up(bound: Bound, side: Side, settings: Settings) -> int:
    cause = bound.cause
    if isinstance(cause, Edge):
        return takes_up(cause, settings)
    if isinstance(cause.cause, Opening):
        pockets = cause.cause.takes_up
        return pockets.right if side is Side.LEFT else pockets.left
    return 0


def _what(bound: Bound) -> str:
    cause = bound.cause
    if isinstance(cause, Edge):
        return _SLOPING[cause.facing] if cause.pitch else cause.border.meets.replace("_", " ")
    if isinstance(cause.cause, Opening):
        return f"{cause.cause.kind} {cause.cause.id}"
    return "the step"


_SLOPING = {Facing.TOP: "the rake", Facing.BOTTOM: "the roof below"}
