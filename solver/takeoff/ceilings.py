"""Ceilings: soffit panels from channel to channel, how many, how the last is ripped, and what holds them.

Soffit is not lapped end to end: a span longer than the stick is divided by back-to-back channel.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil

from solver.lengths import say
from solver.required import End, Meets
from solver.takeoff import rules
from solver.takeoff.answer import SoffitRow, Trim
from solver.takeoff.levels import ceil_div
from solver.takeoff.measured import Ceiling, House, LastPanel, Role
from solver.takeoff.supports import nailers
from solver.takeoff.words import Figure, Term, add_up, count_of, decimal

CEILING_RULE = "1/4 in at each end: an anonymous article on porch ceilings"
CHANNELLED = End(Meets.CHANNEL)


def ceiling_row(house: House, ceiling: Ceiling, longest: int, gap: int) -> SoffitRow:
    """Return the panels of a ceiling; ``longest`` is the longest stick (0: unknown), ``gap`` the end gap, in ticks."""
    span, row = ceiling.span, ceiling.row
    clear = span - 2 * ceiling.takes_up
    parts = _parts(clear, ceiling.divider, longest, gap)
    part = (clear - (parts - 1) * ceiling.divider) // parts
    length = add_up("soffit panel, clear", _terms(ceiling, span, parts, part), house.unit, CEILING_RULE)
    count, ripped = _count(house, row - 2 * ceiling.takes_up, ceiling.last)
    quantity = parts * int(count.value)
    divided = (_divided(house, clear, parts, part),) if parts > 1 else ()
    figures = (*divided, length, count, *ripped, nailers(house, ceiling.span), *vented(house, quantity))
    return SoffitRow(f"ceiling {ceiling.id}", part, quantity, (CHANNELLED, CHANNELLED), parts, figures)


def _parts(clear: int, divider: int, longest: int, gap: int) -> int:
    """The fewest equal parts that each fit the stick: parts x (longest + both gaps) + dividers between >= clear."""
    if not longest:
        return 1
    return max(1, ceil_div(clear + divider, longest + 2 * gap + divider))


def _terms(ceiling: Ceiling, span: int, parts: int, part: int) -> list[Term]:
    if parts == 1:
        return [Term(span, "between the walls"), Term(-2 * ceiling.takes_up, "taken up by the channels")]
    return [Term(part, "from pocket to pocket")]


def _divided(house: House, clear: int, parts: int, part: int) -> Figure:
    text = f"{say(clear, house.unit)} is longer than a panel: {parts} lengths of {say(part, house.unit)}"
    return count_of("divided into", parts, f"{text} with back-to-back channel between", rules.NO_SOURCE)


def _count(house: House, row: int, last: LastPanel) -> tuple[Figure, list[Figure]]:
    coverage = house.coverage or 1
    count = ceil_div(row, coverage)
    rest = row - (count - 1) * coverage
    figure = count_of("soffit panels", count, counted(house, row))
    if rest == coverage:
        return figure, []
    return figure, [_ripped(house, row, count, rest, last)]


def counted(house: House, row: int) -> str:
    """Return in words how many panels a row of soffit takes."""
    coverage = house.coverage or 1
    exact, count = decimal(Fraction(row, coverage)), ceil_div(row, coverage)
    return f"{say(row, house.unit)} / {say(coverage, house.unit)} = {exact}, rounded up = {count} panels"


def _ripped(house: House, row: int, count: int, rest: int, last: LastPanel) -> Figure:
    unit, coverage = house.unit, house.coverage or 1
    if last is LastPanel.ONE or count < 2:
        text = (
            f"{say(row, unit)} less {count - 1} x {say(coverage, unit)} = {say(rest, unit)} wide to the pocket's back"
        )
        return Figure("last panel ripped to", rest, text, rules.GEOMETRY)
    each = (rest + coverage) // 2
    text = (
        f"({say(rest, unit)} + {say(coverage, unit)}) / 2 = {say(each, unit)} at both sides, {count - 2} whole between"
    )
    return Figure("first and last panel ripped to", each, text, rules.GEOMETRY)


def vented(house: House, quantity: int) -> Iterator[Figure]:
    """Yield how many of the panels are vented, where the settings give a share."""
    share = house.settings.vented
    if share:
        number = ceil(quantity * share)
        text = f"{quantity} panels x {share} = {number}, rounded up"
        yield count_of("vented panels", number, text, VENTING)


VENTING = "1 in 3 (a European maker); about a quarter (a lumber yard): they conflict; free area by local code"


def ceiling_trim(house: House, ceiling: Ceiling, row: SoffitRow) -> Iterator[Trim]:
    """Yield the channel along all four sides, and two back to back at each division."""
    sides = ((ceiling.length, "along its length"), (ceiling.width, "along its width"))
    for length, what in sides:
        yield _channel(house, ceiling, length, 2, what)
    if row.parts > 1:
        yield _channel(house, ceiling, ceiling.row, 2 * (row.parts - 1), "back to back where the span is divided")


def _channel(house: House, ceiling: Ceiling, length: int, quantity: int, what: str) -> Trim:
    figure = add_up("soffit channel", [Term(length, what)], house.unit)
    return Trim.of(Role.SOFFIT_CHANNEL, f"ceiling {ceiling.id}: {what}", figure, quantity)
