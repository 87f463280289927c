"""Exact lengths: ticks, and what people write for them.

A written length is plain text (one glyph for each kind of quote, dash and space) that matches one of
four forms: feet and inches, inches, metric, or a bare number of the list's unit. What matches none
of them but has two meanings is a question, never a guess.
"""

from __future__ import annotations

import re
from fractions import Fraction

from solver.ticks import (
    LONGEST,
    LONGEST_TEXT,
    TICKS_PER_64TH,
    TICKS_PER_INCH,
    TICKS_PER_MM,
    AmbiguousLength,
    Length,
    LengthError,
    Reading,
    Rounding,
    Unit,
    from_number,
    say,
    say_feet_and_inches,
    say_pitch,
    to_number,
    to_ticks,
)

__all__ = [
    "AGREE",
    "LONGEST",
    "TICKS_PER_64TH",
    "TICKS_PER_INCH",
    "TICKS_PER_MM",
    "AmbiguousLength",
    "Length",
    "LengthError",
    "Reading",
    "Rounding",
    "Unit",
    "from_number",
    "in_unit",
    "plain_text",
    "read_length",
    "read_value",
    "say",
    "say_feet_and_inches",
    "say_pitch",
    "to_number",
    "to_ticks",
    "told",
]

_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10", "⅓": "1/3", "⅔": "2/3", "⅕": "1/5",
    "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_SAME = str.maketrans(
    {glyph: f" {fraction} " for glyph, fraction in _VULGAR.items()}
    | dict.fromkeys("⁄∕", "/")
    | dict.fromkeys("‘’‚‛′ʹʼ´`＇", "'")
    | dict.fromkeys("“”„‟″ʺ＂", '"')
    | dict.fromkeys("‐‑‒–—−", "-")
    | dict.fromkeys("\u00a0\u2002\u2003\u2007\u2009\u202f", " ")
    | dict.fromkeys("\u200b\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff\u00ad")
)


def plain_text(text: str) -> str:
    """Return text with one glyph for each kind of quote, dash, space and fraction, without marks of direction."""
    return text.translate(_SAME).replace("''", '"')


VALUE = r"(?:(?:[0-9]{1,9}(?:\ *-\ *|\ +))?[0-9]{1,4}/[0-9]{1,4}|[0-9]{1,9}(?:\.[0-9]{1,12})?|\.[0-9]{1,12})"
"""Pattern of a number of feet or inches: ``142``, ``142.375``, ``3/4``, ``142 3/8``, ``142-3/8``."""
FEET = r"(?:\ *'|\ *-?\ *(?:ft(?![a-z])\.?|feet(?![a-z])|foot(?![a-z])))"
INCHES = r"(?:\ *\"|\ *-?\ *(?:inch(?:es)?(?![a-z])|ins?(?![a-z])\.?))"
METRIC = r"\ *-?\ *(?P<unit>mm|cm|m|millimet(?:er|re)s?|centimet(?:er|re)s?|met(?:er|re)s?)(?![a-z])\.?"

_SIGN = r"(?P<sign>[-+]?)\ *"
_BARE = re.compile(rf"{_SIGN}(?P<value>{VALUE})")
_FEET_INCHES = re.compile(
    rf"{_SIGN}(?P<feet>{VALUE}){FEET}(?:\ *-?\ *(?P<inches>{VALUE})(?:{INCHES})?)?", re.IGNORECASE
)
_INCHES = re.compile(rf"{_SIGN}(?P<inches>{VALUE}){INCHES}", re.IGNORECASE)
_METRIC = re.compile(rf"{_SIGN}(?P<value>[0-9]{{0,9}}(?:[.,][0-9]{{1,12}})?)(?:{METRIC})?", re.IGNORECASE)
_TWO_NUMBERS = re.compile(
    rf"(?P<first>[0-9]{{1,4}})(?P<sep>\ *-\ *|\ +)(?P<second>{VALUE})(?P<inch>{INCHES})?", re.IGNORECASE
)
_BOTH_UNITS = re.compile(r"(?P<first>[^()]+)\((?P<second>[^()]+)\)")
_PARTS_OF_A_FOOT = ("2", "3", "4", "6", "12")
"""Denominators: 2/10' is two pieces of 10 feet to whoever wrote it."""
AGREE = 2 * TICKS_PER_64TH
"""Ticks: a length given in two units is one length if they agree within 1/32 in."""


def read_length(text: str, unit: Unit, rounding: Rounding = Rounding.NEAREST) -> Length:
    """Read a written length; a bare number is of ``unit``. It may be negative.

    Raises ``AmbiguousLength`` where the form has two meanings, ``LengthError`` where it has none.
    """
    if len(text) > LONGEST_TEXT:
        raise LengthError("not_a_length", f"a length has at most {LONGEST_TEXT} characters")
    written = plain_text(text).replace("\t", " ").strip()
    both = _BOTH_UNITS.fullmatch(written)
    if both:
        return _agreeing(both["first"].strip(), both["second"].strip(), unit, rounding)
    return _one(written, unit, rounding)


def _one(written: str, unit: Unit, rounding: Rounding) -> Length:
    if match := _FEET_INCHES.fullmatch(written):
        return to_ticks(_signed(match, _feet_and_inches(match["feet"], match["inches"])), Unit.IN, rounding)
    if match := _INCHES.fullmatch(written):
        return to_ticks(_signed(match, read_value(match["inches"])), Unit.IN, rounding)
    if (match := _METRIC.fullmatch(written)) and match["value"] and (match["unit"] or unit.metric):
        return to_ticks(_signed(match, _metric_value(match, unit)), _metric_unit(match["unit"], unit), rounding)
    if match := _BARE.fullmatch(written):
        return to_ticks(_signed(match, _bare_value(match["value"], unit)), unit, rounding)
    if match := _TWO_NUMBERS.fullmatch(written):
        raise _pair(match, written, unit)
    raise LengthError("not_a_length", _HOW_TO_WRITE[unit.metric])


_HOW_TO_WRITE = {
    False: "not a length: write 9' 7\", 142 3/8, 142.375 or 3510 mm",
    True: "not a length: write 3510 mm, 3.51 m or 9' 7\"",
}


def _agreeing(first: str, second: str, unit: Unit, rounding: Rounding) -> Length:
    one, two = (_one(part, unit, rounding) for part in (first, second))
    if abs(one.ticks - two.ticks) > AGREE:
        readings = (Reading(first, one.ticks, "first"), Reading(second, two.ticks, "second"))
        raise AmbiguousLength("n (n)", f"{first} ({second})", readings)
    return one


def _signed(match: re.Match[str], value: Fraction) -> Fraction:
    return -value if match["sign"] == "-" else value


def read_value(written: str) -> Fraction:
    """Return what matches ``VALUE`` as a fraction. Raises ``LengthError`` for an improper one such as 12/6."""
    head, slash, denominator = written.partition("/")
    if not slash:
        return Fraction(int(head) if head.isdigit() else head)
    *whole, numerator = re.findall("[0-9]+", head)
    if not 0 < int(numerator) < int(denominator):
        raise LengthError("improper_fraction", f"{numerator}/{denominator} is no part of an inch: write it out")
    return int(whole[0] if whole else 0) + Fraction(int(numerator), int(denominator))


def _feet_and_inches(feet: str, inches: str | None) -> Fraction:
    if "/" in feet and feet.partition("/")[2] not in _PARTS_OF_A_FOOT and not re.search("[ -]", feet):
        raise LengthError("improper_fraction", f"{feet} is no part of a foot: write inches")
    whole = read_value(feet)
    if inches is None:
        return 12 * whole
    rest = read_value(inches)
    if rest >= 12 or whole.denominator != 1:
        raise LengthError("not_a_length", "before inches feet are whole, and after feet inches stay under 12")
    return 12 * whole + rest


def _metric_value(match: re.Match[str], unit: Unit) -> Fraction:
    written, own = match["value"], _metric_unit(match["unit"], unit)
    whole, comma, decimals = written.partition(",")
    if comma and len(decimals) == 3 and whole.strip("0"):
        ways = ((f"{whole}.{decimals}", "decimal"), (whole + decimals, "thousands"))
        raise AmbiguousLength("n,nnn", written, tuple(_reading(Fraction(n), own, answer) for n, answer in ways))
    return Fraction(written.replace(",", "."))


def _reading(value: Fraction, unit: Unit, answer: str) -> Reading:
    ticks = to_ticks(value, unit).ticks
    return Reading(say(ticks, unit), ticks, answer)


def _feet_reading(inches: Fraction | int) -> Reading:
    ticks = to_ticks(inches, Unit.IN).ticks
    return Reading(say_feet_and_inches(ticks), ticks, "feet-inches")


def _metric_unit(written: str | None, unit: Unit) -> Unit:
    word = (written or unit).lower()
    return {"mi": Unit.MM, "mm": Unit.MM, "ce": Unit.CM, "cm": Unit.CM}.get(word[:2], Unit.M)


def _bare_value(written: str, unit: Unit) -> Fraction:
    value = read_value(written)
    if unit.metric:
        raise LengthError("not_a_length", f'fractions are of inches: write {written}", or decimals of {unit}')
    whole, dot, decimals = written.partition(".")
    if dot and _may_be_inches(decimals) and to_ticks(value, unit).ticks % TICKS_PER_64TH:
        feet = _feet_reading(12 * int(whole or 0) + int(decimals))
        decimal = Reading(f"{written} {unit}", to_ticks(value, unit).ticks, "decimal", exact=False)
        raise AmbiguousLength("n.n", written, (feet, decimal))
    return value


def _may_be_inches(decimals: str) -> bool:
    return len(decimals) <= 2 and 1 <= int(decimals) <= 11


def _pair(match: re.Match[str], written: str, unit: Unit) -> AmbiguousLength | LengthError:
    first, second = int(match["first"]), read_value(match["second"])
    if second >= 12:
        return LengthError("not_a_length", f"{written} is not a length: after feet, inches are less than 12")
    feet = _feet_reading(12 * first + second)
    each = _reading(second, Unit.IN if match["inch"] else unit, "quantity-length")
    notation = "n-n" if "-" in match["sep"] else "n n"
    return AmbiguousLength(
        notation, written, (feet, Reading(f"{first} of {each.text}", each.ticks, each.answer, first))
    )


_IN_BRACES = re.compile(r"\{([^{}]+)\}")


def told(words: str, unit: Unit) -> str:
    """Return words with each length in braces as it is printed, in a metric job as a whole number of millimetres."""

    def one(match: re.Match[str]) -> str:
        return say(in_unit(read_length(match[1], Unit.IN).ticks, unit), unit) if unit.metric else match[1]

    return _IN_BRACES.sub(one, words)


def in_unit(value: int, unit: Unit) -> int:
    """Return a length as a tape in the unit shows it: to the nearest whole millimetre in a metric job."""
    return (value + TICKS_PER_MM // 2) // TICKS_PER_MM * TICKS_PER_MM if unit.metric else value
