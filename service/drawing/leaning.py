"""How a sloped end leans on paper, which is not to scale."""

from __future__ import annotations

from solver.required import Edge, End, Side

_LEAN = 4.0
_Point = tuple[float, float]


def lean_of(end: End, width: float) -> float:
    """Return how far the short edge of an end of what is ``width`` millimetres wide on paper is cut back."""
    return min(_LEAN, width / 3) if end.slope else 0


def end_line(end: End, side: Side, x: float, heights: tuple[float, float], width: float) -> tuple[_Point, ...]:
    """Return the points of an end from its bottom to its top (``heights``); its long edge stands at ``x``.

    An end that is partly upright bends halfway up: a sign, not a measure.
    """
    bottom, top = heights
    if end.slope is None:
        return (x, bottom), (x, top)
    short = x + lean_of(end, width) * (1 if side is Side.LEFT else -1)
    bend = ((x, (bottom + top) / 2),) if end.slope.upright else ()
    if end.slope.long_edge is Edge.BOTTOM:
        return (x, bottom), *bend, (short, top)
    return (short, bottom), *bend, (x, top)
