"""A pasted list read for a test: what came of its pieces, or why a line was not read."""

from __future__ import annotations

from solver.cutlist import read_cut_list
from solver.lengths import TICKS_PER_INCH, Unit

INCH = TICKS_PER_INCH


def pieces(text: str, *materials: str, unit: Unit = Unit.IN, **assume: str) -> list[tuple[int, float, str | None]]:
    """Return quantity, inches and material of each item read."""
    answers = {notation.replace("_", "-"): answer for notation, answer in assume.items()}
    read = read_cut_list(text, unit, materials, answers)
    return [(item.quantity, item.length / INCH, item.material) for line in read.lines for item in line.read]


def codes(text: str, *materials: str) -> list[str | None]:
    """Return the code of each line's problem."""
    return [line.problem.code if line.problem else None for line in read_cut_list(text, Unit.IN, materials).lines]
