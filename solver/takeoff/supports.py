"""What holds soffit between its ends: nailer lines, and warnings where the span is over the code's limit."""

from __future__ import annotations

from collections.abc import Iterator

from solver.job import Notice
from solver.lengths import say
from solver.takeoff import rules
from solver.takeoff.answer import SoffitRow
from solver.takeoff.levels import ceil_div
from solver.takeoff.measured import Ceiling, Eave, House
from solver.takeoff.words import Figure, count_of


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
