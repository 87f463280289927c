"""Nails by spacing, for panels and for trim."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.lengths import say
from solver.takeoff import rules
from solver.takeoff.answer import Trim, WallTakeOff
from solver.takeoff.levels import ceil_div
from solver.takeoff.measured import House
from solver.takeoff.words import Figure, count_of


def fasteners(house: House, walls: Sequence[WallTakeOff], trim: Sequence[Trim]) -> Iterator[Figure]:
    """Yield nails for the panels, one more than its spacings for each run, and for the trim likewise."""
    runs = [run.length for wall in walls for course in wall.courses for run in course.runs]
    yield _nails(house, "nails for panels", runs, house.settings.nail_spacing, rules.NAIL_SPACING.source)
    lengths = [piece.length for piece in trim for _ in range(piece.quantity)]
    yield _nails(house, "nails for trim", lengths, house.settings.trim_nail_spacing, rules.POST_NAILS.source)


def _nails(house: House, name: str, lengths: Sequence[int], spacing: int, source: str) -> Figure:
    count = sum(ceil_div(length, spacing) + 1 for length in lengths)
    total = say(sum(lengths), house.unit)
    text = f"{len(lengths)} stretches, {total} in all, every {say(spacing, house.unit)} and one more each = {count}"
    return count_of(name, count, text, source)
