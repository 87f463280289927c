"""The tick, its units, and lengths as numbers and as a person would say them.

A tick is 1/8128 in = 3.125 micrometres, the largest unit of which both 1/64 in (127 ticks) and
0.1 mm (32 ticks) are whole multiples, so inch fractions and millimetres mix without rounding.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

TICKS_PER_INCH = 8128
TICKS_PER_MM = 320
TICKS_PER_64TH = TICKS_PER_INCH // 64
LONGEST = 1_000_000 * TICKS_PER_INCH
"""No length is longer, in ticks (25.4 km)."""
LONGEST_TEXT = 80
"""No written length has more characters."""


class Unit(StrEnum):
    """What a bare number means."""

    IN = "in"
    FT = "ft"
    MM = "mm"
    CM = "cm"
    M = "m"

    @property
    def ticks(self) -> int:
        """Ticks in one of it."""
        return _UNIT_TICKS[self]

    @property
    def metric(self) -> bool:
        """Whether it is millimetres, centimetres or metres."""
        return self not in (Unit.IN, Unit.FT)


_UNIT_TICKS = {
    Unit.IN: TICKS_PER_INCH,
    Unit.FT: 12 * TICKS_PER_INCH,
    Unit.MM: TICKS_PER_MM,
    Unit.CM: 10 * TICKS_PER_MM,
    Unit.M: 1000 * TICKS_PER_MM,
}
_DECIMALS = {Unit.IN: 4, Unit.FT: 4, Unit.MM: 3, Unit.CM: 4, Unit.M: 6}
"""So many decimals tell every tick from its neighbours."""


class Rounding(StrEnum):
    """Where a length that is no whole number of ticks goes; halves go up."""

    NEAREST = "nearest"
    DOWN = "down"
    UP = "up"


@dataclass(frozen=True, slots=True)
class Length:
    """A length in ticks, and whether it is exactly what was written."""

    ticks: int
    exact: bool


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing an ambiguous form may mean: as a person would say it, in ticks, how many, and its name as an answer."""

    text: str
    ticks: int
    answer: str
    quantity: int | None = None
    exact: bool = True


class LengthError(ValueError):
    """A length that can't be read: ``code`` for programs, ``detail`` says what is wrong and what to write instead."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(detail)
        self.code = code
        self.detail = detail


class AmbiguousLength(LengthError):
    """A form with two meanings; ``notation`` names the form (``n-n``, ``n.n``), ``readings`` what it may mean."""

    def __init__(self, notation: str, written: str, readings: tuple[Reading, ...]) -> None:
        super().__init__("ambiguous_length", f"{written} can be read as {' or as '.join(r.text for r in readings)}")
        self.notation = notation
        self.readings = readings


def to_ticks(value: Fraction | int, unit: Unit, rounding: Rounding = Rounding.NEAREST) -> Length:
    """Return ``value`` units as ticks, rounded as told. Raises ``LengthError`` beyond ``LONGEST``."""
    numerator, denominator = value.numerator * unit.ticks, value.denominator
    if abs(numerator) > LONGEST * denominator:
        raise LengthError("length_out_of_range", f"no length is longer than {say(LONGEST, unit)}")
    ticks = _ROUND[rounding](numerator, denominator)
    return Length(ticks, exact=numerator == ticks * denominator)


_ROUND: dict[Rounding, Callable[[int, int], int]] = {
    Rounding.NEAREST: lambda numerator, denominator: (2 * numerator + denominator) // (2 * denominator),
    Rounding.DOWN: lambda numerator, denominator: numerator // denominator,
    Rounding.UP: lambda numerator, denominator: -(-numerator // denominator),
}


def from_number(value: float | Decimal, unit: Unit, rounding: Rounding = Rounding.NEAREST) -> Length:
    """Return a JSON number of ``unit`` as a length; a number is never ambiguous.

    A float counts as the shortest decimal that prints it. Raises ``LengthError`` for what is no
    number, not finite, or beyond ``LONGEST``.
    """
    if isinstance(value, bool):
        raise LengthError("not_a_length", "a length is a number or text, not true or false")
    if isinstance(value, int):
        return to_ticks(max(-(10**12), min(value, 10**12)), unit, rounding)
    return to_ticks(_fraction(Decimal(repr(value)) if isinstance(value, float) else value), unit, rounding)


def _fraction(number: Decimal) -> Fraction:
    if not number.is_finite():
        raise LengthError("not_a_length", "a length is a finite number")
    if number and not -20 <= number.adjusted() <= 12:
        raise LengthError("length_out_of_range", "a length is neither astronomic nor microscopic")
    if len(number.as_tuple().digits) > LONGEST_TEXT:
        raise LengthError("length_out_of_range", f"a length has at most {LONGEST_TEXT} digits")
    return Fraction(number) if number else Fraction(0)


def to_number(ticks: int, unit: Unit) -> int | float:
    """Return ticks as a number of ``unit`` with up to 6 decimals, for responses."""
    number = round(Fraction(ticks, unit.ticks), 6)
    return int(number) if number.denominator == 1 else float(number)


def say(ticks: int, unit: Unit) -> str:
    """Return a length as a person would say it: ``9'-7"``, ``34 1/2"``, ``3510 mm``; ``read_length`` reads it back.

    Imperial lengths are in feet from 36 in up, in whole 64ths where they are such, else in decimal inches.
    """
    sign, size = ("-" if ticks < 0 else ""), abs(ticks)
    if unit.metric:
        return f"{sign}{_decimal(size, unit)} {unit}"
    if size % TICKS_PER_64TH:
        return f"{sign}{_decimal(size, Unit.IN)} in"
    if size < 36 * TICKS_PER_INCH:
        return f'{sign}{_inches(size)}"'
    return f"{sign}{say_feet_and_inches(size)}"


def say_pitch(pitch: Fraction, unit: Unit) -> str:
    """Return rise over run as a person would say it: ``6/12``, in a metric job ``500 mm in 1 m``."""
    if unit.metric:
        return f"{round(pitch * 1000)} mm in 1 m"
    rise = pitch * 12
    return f"{rise if rise.denominator == 1 else round(float(rise), 3)}/12"


def say_feet_and_inches(ticks: int) -> str:
    """Return a positive length in feet and inches however short it is, as ``2'-3"``."""
    feet, rest = divmod(ticks, 12 * TICKS_PER_INCH)
    return f"{feet}'-{'0 ' if 0 < rest < TICKS_PER_INCH else ''}{_inches(rest)}\""


def _decimal(ticks: int, unit: Unit) -> str:
    shortest = next(
        number
        for places in range(_DECIMALS[unit] + 1)
        if to_ticks(number := round(Fraction(ticks, unit.ticks), places), unit).ticks == ticks
    )
    return f"{shortest.numerator / shortest.denominator:.{_DECIMALS[unit]}f}".rstrip("0").rstrip(".")


def _inches(ticks: int) -> str:
    whole, rest = divmod(ticks, TICKS_PER_INCH)
    common = math.gcd(rest, TICKS_PER_INCH)
    part = f"{rest // common}/{TICKS_PER_INCH // common}" if rest else ""
    return f"{whole or ''} {part}".strip() or "0"
