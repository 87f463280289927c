"""Bills against laps: a point for each plan, in a column for each number."""

from __future__ import annotations

from decimal import Decimal

from service.drawing.bills import Plotted, draw_bills
from service.drawing.shapes import Ring, Text


def plotted(*told: tuple[str, str, int]) -> list[Plotted]:
    """Return plans by name, bill and count."""
    return [Plotted(name, Decimal(bill), count) for name, bill, count in told]


def test_the_dearer_stands_higher_and_more_laps_farther_right() -> None:
    """Three plans at two numbers of laps; two of one bill are named one below the other."""
    drawing = draw_bills(plotted(("1", "58.80", 3), ("2", "78.80", 1), ("3", "78.80", 1)), "laps")
    assert drawing
    dear, _, cheap = (shape for shape in drawing.shapes if isinstance(shape, Ring))
    assert dear.x < cheap.x
    assert dear.y < cheap.y
    names = {shape.text: shape for shape in drawing.shapes if isinstance(shape, Text)}
    assert names["3"].y - names["2"].y >= names["3"].size
    assert drawing.description == "plan 2, laps 1: 78.80; plan 3, laps 1: 78.80; plan 1, laps 3: 58.80."


def test_where_all_have_as_many_there_is_no_choice() -> None:
    """Nor one plan."""
    assert draw_bills(plotted(("1", "58.80", 2), ("2", "60.00", 2)), "laps") is None
