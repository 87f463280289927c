"""Numbers of a line measured: a token as a length, and pairs of numbers that have several meanings."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from solver.lengths import AmbiguousLength, Length, LengthError, Unit, read_length, say, to_ticks
from solver.reading import reasons

_TOO_LONG_FOR_A_BARE_NUMBER = 1200
"""Inches: a bare number beyond 100 ft is more likely of another unit than the list's."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How this list is written: the unit of bare numbers, and the answers given for its ambiguous notations."""

    unit: Unit
    assume: Mapping[str, str]


def measure(written: str, manner: Manner) -> Length:
    """Return what a token says as a length. Raises ``Unclear``."""
    try:
        length = read_length(written, manner.unit)
    except AmbiguousLength as several:
        length = _assumed(several, written, manner)
    except LengthError as error:
        raise reasons.no_such_length(error, written) from error
    bare = written.replace(".", "").isdigit()
    if bare and abs(length.ticks) > to_ticks(Fraction(_TOO_LONG_FOR_A_BARE_NUMBER), Unit.IN).ticks:
        raise reasons.implausible(written, say(length.ticks, manner.unit))
    return length


def _assumed(several: AmbiguousLength, written: str, manner: Manner) -> Length:
    answer = manner.assume.get(several.notation)
    for reading in several.readings:
        if reading.answer == answer and reading.quantity is None:
            return Length(reading.ticks, reading.exact)
    raise reasons.no_such_length(several, written)


@dataclass(frozen=True, slots=True)
class Counted:
    """A length with the number of pieces that the same form gave, None where it gave none."""

    length: Length
    quantity: int | None = None


def pair(notation: str, first: str, second: str, manner: Manner, written: str) -> Counted:
    """Return what two numbers side by side mean by the answer for ``notation``. Raises ``Unclear`` without one."""
    ways = _ways(first, second, manner)
    possible = {answer: way for answer, way in ways.items() if answer in reasons.ANSWERS[notation]}
    answer = manner.assume.get(notation)
    if answer in possible:
        return possible[answer]
    offered = [way for name, way in possible.items() if name != "length-quantity" or "feet-inches" not in possible]
    raise reasons.ambiguous(notation, written, [say_counted(way, manner) for way in offered])


def say_counted(way: Counted, manner: Manner) -> str:
    """Return a counted length as a person would say it."""
    length = say(way.length.ticks, manner.unit)
    return length if way.quantity is None else f"{way.quantity} of {length}"


def gap(written: str, manner: Manner) -> Counted:
    """Return what ``10' 6`` means: feet and inches, or so many of so many feet. Raises ``Unclear`` unanswered."""
    feet, quantity = re.findall("[0-9]+", written)
    ways = {
        "feet-inches": Counted(read_length(written, manner.unit)),
        "length-quantity": Counted(read_length(f"{feet}'", manner.unit), int(quantity)),
    }
    answer = manner.assume.get("n' n")
    if answer in ways:
        return ways[answer]
    raise reasons.ambiguous("n' n", written, [say_counted(way, manner) for way in ways.values()])


def _ways(first: str, second: str, manner: Manner) -> dict[str, Counted]:
    ways = {}
    inches = feet_and_inches(first, second)
    if inches:
        ways["feet-inches"] = Counted(inches)
    if first.isdigit():
        ways["quantity-length"] = Counted(measure(second, manner), int(first))
    if second.isdigit():
        ways["length-quantity"] = Counted(measure(first, manner), int(second))
    return ways


def feet_and_inches(feet: str, inches: str) -> Length | None:
    """Return feet and inches written as two bare numbers, None where they can't be such."""
    if not feet.isdigit():
        return None
    try:
        return read_length(f"{feet}'{inches}", Unit.IN)
    except LengthError:
        return None
