"""Soffit under porch ceilings and eaves: panels, the last one ripped, channel, fascia, and what holds them.

Soffit is not lapped end to end: a ceiling's span longer than the stick is divided by back-to-back channel. Eaves run
from the wall's channel to the subfascia and turn their corners square or mitred.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from solver.job import Notice
from solver.lengths import say, told
from solver.required import End, Meets
from solver.takeoff import rules
from solver.takeoff.answer import Figure, SoffitRow, Term, Trim, add_up, count_of, decimal
from solver.takeoff.ends import step_of
from solver.takeoff.measured import Ceiling, Eave, House, LastPanel, Role
from solver.takeoff.survey import ceil_div


def nailers(house: House, span: int) -> Figure:
    """Return how many nailer lines a span needs between its ends, so that no stretch is over the settings' limit."""
    limit = house.settings.soffit_span
    needed = max(0, ceil_div(span, limit) - 1)
    text = f"{say(span, house.unit)} / {say(limit, house.unit)}, rounded up, less 1 = {needed} lines across the panels"
    return count_of("nailer lines", needed, text, rules.UNSUPPORTED_SOFFIT.source)


def ceiling_notices(house: House, ceiling: Ceiling, row: SoffitRow) -> Iterator[Notice]:
    """Yield what to know of a ceiling: a span without support, long panels."""
    needed = int(nailers(house, ceiling.span).value)
    if ceiling.nailers < needed:
        yield _unsupported(house, f"{row.place}: {needed} nailer lines are needed and {ceiling.nailers} are there")
    if row.span >= rules.TWO_PEOPLE_FROM.value:
        yield Notice("two_people", f"{row.place}: panels of {say(row.span, house.unit)} take two people to put up")


def eave_notices(house: House, eave: Eave) -> Iterator[Notice]:
    """Yield what to know of an eave: an overhang without support."""
    if eave.overhang > house.settings.soffit_span:
        words = f"eave {eave.id}: {say(eave.overhang, house.unit)} from wall to subfascia needs a nailer between"
        yield _unsupported(house, words)


def _unsupported(house: House, words: str) -> Notice:
    limit = house.settings.soffit_span
    rule = f"soffit may span {say(limit, house.unit)} ({rules.UNSUPPORTED_SOFFIT.source})"
    return Notice("soffit_unsupported", f"{words}; {rule}", needed=limit)


CEILING_RULE = "{1/4 in} at each end: an anonymous article on porch ceilings"
CHANNELLED = End(Meets.CHANNEL)


def ceiling_row(house: House, ceiling: Ceiling, longest: int, gap: int) -> SoffitRow:
    """Return the panels of a ceiling; ``longest`` is the longest stick (0: unknown), ``gap`` the end gap, in ticks."""
    span, row = ceiling.span, ceiling.row
    clear = span - 2 * ceiling.takes_up
    parts = _parts(clear, ceiling.divider, longest, gap)
    part = (clear - (parts - 1) * ceiling.divider) // parts
    source = told(CEILING_RULE, house.unit)
    length = add_up("soffit panel, clear", _terms(ceiling, span, parts, part), house.unit, source)
    laid = laid_out(house, row - 2 * ceiling.takes_up, ceiling.last)
    quantity = parts * laid.count
    divided = (_divided(house, clear, parts, part),) if parts > 1 else ()
    figures = (*divided, length, *laid.figures, nailers(house, ceiling.span), *vented(house, quantity))
    ends = CHANNELLED, CHANNELLED
    lies = f"along its {ceiling.panels}, side by side"
    return SoffitRow(
        f"ceiling {ceiling.id}", part, quantity, ends, parts, figures, parts * laid.ripped, laid.ripped_to, lies
    )


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


@dataclass(frozen=True, slots=True)
class Laid:
    """Panels side by side: how many, how many of them are ripped and to what width, in ticks, and why."""

    count: int
    figures: tuple[Figure, ...]
    ripped: int = 0
    ripped_to: int = 0


def laid_out(house: House, row: int, last: LastPanel) -> Laid:
    """Lay panels over ``row`` ticks, pocket to pocket; one that is ripped stays its clearance short of its pocket."""
    coverage, clear = coverage_of(house), house.settings.height_clearance
    count = ceil_div(row, coverage)
    rest = row - (count - 1) * coverage
    if rest <= clear and count > 1:
        text = f"{counted(house, row)}, less 1: the last {say(rest, house.unit)} lie in the pocket's clearance"
        return Laid(count - 1, (count_of("soffit panels", count - 1, text),))
    figure = count_of("soffit panels", count, counted(house, row))
    if rest == coverage:
        return Laid(count, (figure,))
    ripped = _ripped(house, row, count, rest, last)
    return Laid(count, (figure, ripped), 1 if last is LastPanel.ONE or count < 2 else 2, int(ripped.value))


def coverage_of(house: House) -> int:
    """Return the width one soffit panel covers, in ticks; ``refusals`` asks for it where it is needed."""
    return house.coverage or 1


def counted(house: House, row: int) -> str:
    """Return in words how many panels a row of soffit takes."""
    coverage = coverage_of(house)
    exact, count = decimal(Fraction(row, coverage)), ceil_div(row, coverage)
    return f"{say(row, house.unit)} / {say(coverage, house.unit)} = {exact}, rounded up = {count} panels"


def _ripped(house: House, row: int, count: int, rest: int, last: LastPanel) -> Figure:
    unit, coverage, clear = house.unit, coverage_of(house), house.settings.height_clearance
    short = Term(-clear, "short of the back of the pocket")
    if last is LastPanel.ONE or count < 2:
        whole = Term(row, "across"), Term(-(count - 1) * coverage, f"for {count - 1} whole panels")
        return add_up("last panel ripped to", (*whole, short), unit, rules.HEIGHT_CLEARANCE.source)
    step = step_of(unit)
    words = f"at both sides, half of {say(rest, unit)} + {say(coverage, unit)}, {count - 2} whole between"
    half = Term((rest + coverage) // 2 // step * step, words)
    return add_up("first and last panel ripped to", (half, short), unit, rules.HEIGHT_CLEARANCE.source)


def vented(house: House, quantity: int) -> Iterator[Figure]:
    """Yield how many of the panels are vented, where the settings give a share."""
    share = house.settings.vented
    if share:
        number = ceil(quantity * share)
        text = f"{quantity} panels x {decimal(share, 4)} = {number}, rounded up"
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
