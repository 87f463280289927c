"""Sloping ends: what a gap square to the slope takes along the panel, how an end leans, what its drop is good for."""

from __future__ import annotations

from fractions import Fraction
from math import isqrt

from solver.lengths import TICKS_PER_INCH, TICKS_PER_MM, Unit, say
from solver.required import Edge as PanelEdge
from solver.required import Side, Slope
from solver.takeoff.bands import Bound
from solver.takeoff.outline import Edge
from solver.takeoff.words import Figure, decimal


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
    found = f"{decimal(Fraction(ticks, unit.ticks))} {unit}"
    text = f"{say(gap, unit)} x root of (1 + ({_over_12(pitch)})^2) = {found} along the panel"
    return Figure(f"gap at a {words_of(pitch)} slope", ticks, text, "geometry")


def lost_in_slope(exposure: int, pitch: Fraction, unit: Unit) -> Figure:
    """Return how much longer one edge of a sloping end is than the other: exposure / pitch.

    The drop of one course starts the next only where the lean is the same, for a panel can't be turned; against the
    opposite rake it is cut again and loses this much.
    """
    lost = Fraction(exposure) / pitch
    ticks = -(-lost.numerator // lost.denominator)
    text = (
        f"{say(exposure, unit)} x {_over_12(pitch)} = {say(ticks, unit)} from a sloping end's long edge to its short: "
        "measure at the long edge and make a pattern; the drop starts the next course only where the lean is the same, "
        "else it loses this much again, for a panel can't be turned"
    )
    return Figure(f"slope {words_of(pitch)}", ticks, text, "geometry")


def words_of(pitch: Fraction) -> str:
    """Return a pitch as a roofer says it: 6/12."""
    rise = pitch * 12
    return f"{rise if rise.denominator == 1 else round(float(rise), 3)}/12"


def _over_12(pitch: Fraction) -> str:
    rise = pitch * 12
    return f"12/{rise if rise.denominator == 1 else round(float(rise), 3)}"
