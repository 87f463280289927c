"""The ends of a run: what each meets and takes up, and what a slope and a gap square to it take along the panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import ceil, floor, isqrt

from solver.lengths import TICKS_PER_INCH, TICKS_PER_MM, Unit, say, say_pitch
from solver.required import Edge as PanelEdge
from solver.required import End, Meets, Side, Slope
from solver.takeoff.answer import Figure, RunEnd, decimal
from solver.takeoff.geometry import Block, Bound, Edge, Exact, Facing, Shape
from solver.takeoff.measured import House, Opening, Point, Role
from solver.takeoff.rules import Settings
from solver.takeoff.survey import takes_up


def along(square: int, pitch: Fraction) -> int:
    """Return what ``square`` ticks, measured square to a slope of ``pitch``, take along a level panel, rounded up.

    square x sqrt(1 + 1/pitch^2): 1/4 in square to a 4/12 rake is 0.79 in along the panel (geometry).
    """
    p, q = pitch.numerator, pitch.denominator
    exact_squared = square * square * (p * p + q * q)
    root = isqrt(exact_squared)
    return -(-(root + (root * root < exact_squared)) // p)


def step_of(unit: Unit) -> int:
    """Return the step to which lengths along slopes are rounded, in ticks: 1/16 in, or 1 mm."""
    return TICKS_PER_MM if unit.metric else TICKS_PER_INCH // 16


def slope_length(across: int, up: int, unit: Unit) -> int:
    """Return the length of a slope that goes ``across`` and ``up``, in ticks, rounded up to the unit's step."""
    squared = across * across + up * up
    root, step = isqrt(squared), step_of(unit)
    return -(-(root + (root * root < squared)) // step) * step


def slope_of(bound: Bound, side: Side) -> Slope | None:
    """Return the slope of a run's end on the given side of the run, or None where it is upright."""
    edge = bound.cause
    if not isinstance(edge, Edge) or edge.pitch is None:
        return None
    leans = Side.RIGHT if bound.high > bound.low else Side.LEFT
    longer_below = (leans is Side.RIGHT) == (side is Side.LEFT)
    return Slope(edge.pitch, leans, PanelEdge.BOTTOM if longer_below else PanelEdge.TOP)


def gap_along(gap: int, pitch: Fraction, unit: Unit) -> Figure:
    """Return what the end gap, kept square to the slope, takes along the panel."""
    ticks = along(gap, pitch)
    if unit.metric:
        ticks = _up_to(ticks, step_of(unit))
    found = f"{decimal(Fraction(ticks, unit.ticks))} {unit}"
    text = f"{say(gap, unit)} x root of (1 + ({_run_over_rise(pitch, unit)})^2) = {found} along the panel"
    return Figure(f"gap on a slope of {say_pitch(pitch, unit)}", ticks, text, "geometry")


def lost_in_slope(exposure: int, pitch: Fraction, unit: Unit) -> Figure:
    """Return how much longer one edge of a sloping end is than the other: exposure / pitch.

    The drop of one course starts the next only where the lean is the same, for a panel can't be turned; against the
    opposite rake it is cut again and loses this much.
    """
    ticks = _up_to(exposure / pitch, step_of(unit))
    text = (
        f"{say(exposure, unit)} x {_run_over_rise(pitch, unit)} = {say(ticks, unit)} from a sloping end's long edge to "
        "its short: measure at the long edge and make a pattern; the drop starts the next course only where the lean "
        "is the same, else it loses this much again, for a panel can't be turned"
    )
    return Figure(f"slope {say_pitch(pitch, unit)}", ticks, text, "geometry")


def _run_over_rise(pitch: Fraction, unit: Unit) -> str:
    run, rise = (1000, round(pitch * 1000)) if unit.metric else (12, pitch * 12)
    return f"{run}/{rise if rise == int(rise) else round(float(rise), 3)}"


@dataclass(frozen=True, slots=True)
class Allow:
    """What holds for every end on a wall: settings, the expansion gap, and where the wall begins and ends.

    ``hem`` is how far a panel reaches above its exposure: over a sloping roof it is the long edge. ``upright`` panels
    lie turned: ``sides`` is what their ends are called, ``names`` what their edges, by index, are. ``backed`` ones
    have foam behind them.
    """

    settings: Settings
    unit: Unit
    gap: int
    hem: int
    left: int
    right: int
    sides: tuple[str, str] = ("left", "right")
    names: Mapping[int, str] = field(default_factory=dict)
    upright: bool = False
    backed: bool = False


def allow_for(house: House, gap: int, outline: Sequence[Point]) -> Allow:
    """Return what holds for the ends on a wall with the given outline."""
    left, right = min(point.x for point in outline), max(point.x for point in outline)
    panel = house.material_for(Role.PANEL)
    backed = panel is not None and panel.category.kind.is_backed
    return Allow(house.settings, house.unit, gap, house.hem, left, right, backed=backed)


def run_end(shape: Shape, side: Side, allow: Allow) -> RunEnd:
    """Return one end of the run that covers ``shape``; the long edge governs."""
    bound, place = _governing(shape, side)
    taken = _takes_up(bound, side, allow.settings)
    odd = _turns(shape, side) > 2 or (bound.low != bound.high and _turns(shape, side) > 1)
    slope = slope_of(bound, side)
    if slope is None:
        bent = next((b for b in _outermost(shape, side) if slope_of(b, side)), None)
        extra, partly = _bend(shape, bent, side, allow, int(place), taken) if bent else (0, None)
        return RunEnd(_what(bound, allow.names), place, taken, extra, allow.gap, End(Meets.CHANNEL, partly), odd)
    taken, gap = along(taken, slope.pitch), along(allow.gap, slope.pitch)
    place = _at_hem(place, bound, side, allow.hem) if slope.long_edge is PanelEdge.TOP else place
    place_in = place - allow.left if side is Side.LEFT else allow.right - place
    pocket = _up_to(place_in + taken + gap - allow.gap, step_of(allow.unit))
    what, end = _what(bound, allow.names), End(Meets.CHANNEL, slope)
    return RunEnd(what, place, taken, pocket - place_in - taken, allow.gap, end, odd)


def _turns(shape: Shape, side: Side) -> int:
    """How many straight parts an end has."""
    return len({bound.cause if bound.low != bound.high else bound.low for bound in _outermost(shape, side)})


def _bend(shape: Shape, bound: Bound, side: Side, allow: Allow, place: int, taken: int) -> tuple[int, Slope | None]:
    """Return what an upright end, cut ``taken`` and the gap in from ``place``, loses to a slope, and that slope.

    It is upright from its long edge to where the panel's upright edge meets its sloping edge, each its own gap from
    the wall's; rounded down, so that the panel is never too long.
    """
    edge, slope = bound.cause, slope_of(bound, side)
    if not isinstance(edge, Edge) or slope is None:
        return 0, None
    inward = 1 if side is Side.LEFT else -1
    off = along(takes_up(edge, allow.settings), slope.pitch) + along(allow.gap, slope.pitch)
    meets_at = edge.y_at(place + inward * (taken + allow.gap - off))
    upright = meets_at - shape.bottom if slope.long_edge is PanelEdge.BOTTOM else shape.top + allow.hem - meets_at
    step = step_of(allow.unit)
    lost = _up_to(-upright / slope.pitch, step) if upright < 0 else 0
    return lost, replace(slope, upright=max(0, floor(Fraction(upright) / step) * step))


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


def _what(bound: Bound, names: Mapping[int, str]) -> str:
    cause = bound.cause
    if isinstance(cause, Edge):
        return names.get(cause.index) or edge_words(cause)
    if isinstance(cause.cause, Opening):
        return f"{cause.cause.kind} {cause.cause.id}"
    return "the step"


def edge_words(edge: Edge) -> str:
    """Return what a panel meets at an edge."""
    sloping = edge.pitch and not edge.level
    return _SLOPING[edge.facing] if sloping else edge.border.meets.replace("_", " ")


_SLOPING = {Facing.TOP: "the rake", Facing.BOTTOM: "the roof below"}
