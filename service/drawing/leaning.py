"""How far a sloped end leans on paper, which is not to scale."""

from __future__ import annotations

from solver.required import Edge, End

_LEAN = 4.0


def leaning(end: End, width: float) -> tuple[float, float]:
    """Return how far an end of what is ``width`` millimetres wide on paper is cut back at its top and its bottom."""
    if end.slope is None:
        return 0, 0
    lean = min(_LEAN, width / 3)
    return (lean, 0) if end.slope.long_edge is Edge.BOTTOM else (0, lean)
