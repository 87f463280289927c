"""Figures that carry their arithmetic in words, so that each can be done again by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from solver.lengths import TICKS_PER_INCH, Unit, say

SQUARE_FOOT = (12 * TICKS_PER_INCH) ** 2
"""Square ticks in a square foot."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the take-off: its name, its value (ticks if ``length``), the arithmetic as a sentence, the source."""

    name: str
    value: int | Fraction
    text: str
    source: str = ""
    length: bool = True


@dataclass(frozen=True, slots=True)
class Term:
    """One term of a sum, in ticks (negative: taken off), and what it is."""

    ticks: int
    what: str


def add_up(name: str, terms: Sequence[Term], unit: Unit, source: str = "") -> Figure:
    """Return the sum of the terms; terms of 0 after the first are left out of the words."""
    first, *rest = terms
    total = sum(term.ticks for term in terms)
    words = [f"{say(first.ticks, unit)} {first.what}"]
    words += [f"{_sign(term)} {say(abs(term.ticks), unit)} {term.what}" for term in rest if term.ticks]
    return Figure(name, total, f"{' '.join(words)} = {say(total, unit)}", source)


def _sign(term: Term) -> str:
    return "less" if term.ticks < 0 else "plus"


def count_of(name: str, value: int, text: str, source: str = "") -> Figure:
    """Return a figure that is a number of things."""
    return Figure(name, value, text, source, length=False)


def decimal(value: Fraction, places: int = 2) -> str:
    """Return a number as a person would write it, with up to ``places`` decimals."""
    return f"{float(round(value, places)):.{places}f}".rstrip("0").rstrip(".")


def square_feet(area: int | Fraction) -> Fraction:
    """Return square ticks as square feet."""
    return Fraction(area) / SQUARE_FOOT
