"""Bills against laps, or against patterns: a column for each number of them, a point for each plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from service.drawing.shapes import BOLD, THIN, Anchor, Drawing, Ring, Shape, Strokes, Text
from service.wire.numbers import money

_LEFT, _TOP, _COLUMN, _HEIGHT, _FOOT, _LINE = 22.0, 6.0, 26.0, 42.0, 12.0, 4.0
"""Millimetres: room for bills, above, of a column, of all bills, for counts and between two names in a column."""
_MOST_COLUMNS = 7


@dataclass(frozen=True, slots=True)
class Plotted:
    """One plan: its name, its bill, and how many there are of what it is held against."""

    name: str
    bill: Decimal
    count: int


def draw_bills(plans: Sequence[Plotted], what: str) -> Drawing | None:
    """Return bills against the numbers of ``what`` (``laps``); None where all have as many, or too many differ."""
    columns: dict[int, list[Plotted]] = defaultdict(list)
    for plan in sorted(plans, key=lambda plan: (plan.count, -plan.bill)):
        columns[plan.count].append(plan)
    if not 1 < len(columns) <= _MOST_COLUMNS:
        return None
    bills = [plan.bill for plan in plans]
    width, shapes = _LEFT + _COLUMN * len(columns), list[Shape]()
    for place, column in enumerate(columns.values()):
        shapes += _column(_middle(place), column, bills)
    foot = _LINE + max(_TOP + _HEIGHT, *(shape.y for shape in shapes if isinstance(shape, Text)))
    shapes.append(Strokes((((_LEFT, _TOP), (_LEFT, foot)), ((_LEFT, foot), (width, foot))), THIN))
    ends = dict.fromkeys((max(bills), min(bills)))
    shapes += [Text(_LEFT - 2, _height(bill, bills) + 1, money(bill) or "", anchor=Anchor.END) for bill in ends]
    shapes += [Text(_middle(place), foot + 4, str(count)) for place, count in enumerate(columns)]
    shapes.append(Text((_LEFT + width) / 2, foot + 9, what))
    told = (plan for column in columns.values() for plan in column)
    words = "; ".join(f"plan {plan.name}, {what} {plan.count}: {money(plan.bill)}" for plan in told)
    return Drawing(f"Bill against {what}", f"{words}.", width, foot + _FOOT, tuple(shapes))


def _middle(place: int) -> float:
    return _LEFT + _COLUMN * place + 6


def _column(x: float, plans: Sequence[Plotted], bills: Sequence[Decimal]) -> Iterator[Shape]:
    """Yield the points of one number, dearest first, with their names, each below the one before."""
    free = 0.0
    for plan in plans:
        y = _height(plan.bill, bills)
        free = max(y + 1, free)
        yield Ring(x, y, 1.6, 1.6, BOLD)
        yield Text(x + 2, free, plan.name, anchor=Anchor.START)
        free += _LINE


def _height(bill: Decimal, bills: Sequence[Decimal]) -> float:
    span = max(bills) - min(bills)
    return _TOP + _HEIGHT * (float((max(bills) - bill) / span) if span else 0.5)
