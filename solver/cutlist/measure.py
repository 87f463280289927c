"""Numbers of a line measured: a token as a length, pairs of numbers that have several meanings, and sums.

A line may give one length in two units, and take a little off it: ``less 1/2``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from solver.cutlist import reasons
from solver.cutlist.tokens import Clause
from solver.lengths import (
    AGREE,
    TICKS_PER_64TH,
    TICKS_PER_INCH,
    AmbiguousLength,
    Length,
    LengthError,
    Unit,
    read_length,
    read_value,
    say,
    say_feet_and_inches,
    to_ticks,
)

SHORTEST = TICKS_PER_INCH
"""No piece is cut shorter; a reading that would be is none."""
_POINT = re.compile(r"^([1-9][0-9]{0,2})\.([0-9]{3})(?=\ ?-?(?:mm|millimet))", re.IGNORECASE)
_POINT_MM = re.compile(r"^([1-9][0-9]{0,2})\.([0-9]{3})(?=\ ?-?(?:mm|millimet)|$)", re.IGNORECASE)
"""Three digits after a point: ``1.200 mm`` has the two meanings of ``1,200 mm``."""
_METRES = re.compile(r"^([0-9]{1,2})\ ?m\ ?([0-9]{2})$", re.IGNORECASE)
"""``1m22``, ``3 m 20``: metres and centimetres (common practice, no source)."""
_QUARTERS = re.compile(r"(?:[3-9]|1[0-9]|20)\.(?:5|25|75)")
"""In a list in inches: inches, feet with decimals, or feet and inches."""
_MOST_FEET = 50
_SHORT_PIECE = 3 * TICKS_PER_INCH
_LONGEST_BARE = 12 * _MOST_FEET * TICKS_PER_INCH
"""A bare number beyond 50 ft is more likely of another unit than the list's."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How this list is written: the unit of bare numbers, and the answers given for its ambiguous notations."""

    unit: Unit
    assume: Mapping[str, str]


def spoken(ticks: int, unit: Unit) -> str:
    """Return a length as a person would say it; whole millimetres that no inch rule shows are said as such."""
    odd = not unit.metric and ticks % TICKS_PER_64TH and ticks % Unit.MM.ticks == 0
    return say(ticks, Unit.MM if odd else unit)


_read = lru_cache(maxsize=4096)(read_length)


def measure(written: str, manner: Manner) -> Length:
    """Return what a token says as a length. Raises ``Unclear``."""
    written = _METRES.sub(r"\1.\2 m", written)
    try:
        length = _read((_POINT_MM if manner.unit is Unit.MM else _POINT).sub(r"\1,\2", written), manner.unit)
    except AmbiguousLength as several:
        length = _assumed(several, written, manner)
    except LengthError as error:
        raise reasons.no_such_length(error, written) from error
    bare = written.replace(".", "").isdigit()
    if bare and abs(length.ticks) > _LONGEST_BARE:
        raise reasons.implausible(written, say(length.ticks, manner.unit), _in_other_units(written, manner.unit))
    if manner.unit is Unit.IN and _QUARTERS.fullmatch(written) and (other := _as_feet(written, manner)):
        return other
    return length


def _in_other_units(written: str, unit: Unit) -> Iterator[str]:
    """Yield what a number would be in each unit in which it is as long as a piece can be."""
    for other in Unit:
        length = read_value(written) * to_ticks(Fraction(1), other).ticks
        if other is not unit and _SHORT_PIECE <= length <= _LONGEST_BARE:
            yield f"{written} {other}"


def _as_feet(written: str, manner: Manner) -> Length | None:
    """Return ``11.5`` in feet if it is answered so, None if in inches. Raises ``Unclear`` without an answer."""
    whole, _, part = written.partition(".")
    feet = to_ticks(read_value(written), Unit.FT)
    pointed = feet_and_inches(whole, part)
    match manner.assume.get("n.n"):
        case "feet":
            return feet
        case "feet-inches" if pointed:
            return pointed
        case "decimal":
            return None
        case _:
            lengths = [read_length(written, Unit.IN), *([pointed] if pointed else []), feet]
            raise reasons.ambiguous("n.n", written, [say(length.ticks, Unit.IN) for length in lengths])


def _assumed(several: AmbiguousLength, written: str, manner: Manner) -> Length:
    answer = manner.assume.get(several.notation)
    if several.notation == "n.n" and answer == "feet":
        return to_ticks(read_value(written), Unit.FT)
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
    return _answered(notation, possible, manner, written)


def comma(written: str, manner: Manner) -> Counted:
    """Return what ``3,51`` means: a decimal where the list is metric, or two numbers. Raises ``Unclear`` unanswered."""
    first, second = written.split(",")
    if not manner.unit.metric:
        return pair("n | n", first, second, manner, written)
    ways = {"decimal": Counted(measure(f"{first}.{second}", manner)), **_ways(first, second, manner)}
    return _answered("n,n", {answer: way for answer, way in ways.items() if answer != "feet-inches"}, manner, written)


def _answered(notation: str, ways: dict[str, Counted], manner: Manner, written: str) -> Counted:
    long_enough = {answer: way for answer, way in ways.items() if way.length.ticks >= SHORTEST}
    possible = ways if notation == "n-n" and manner.unit.metric else long_enough or ways
    answer = manner.assume.get(notation)
    if answer in possible:
        return possible[answer]
    if not possible:
        raise reasons.unexplained(written)
    if len(possible) == 1:
        return next(iter(possible.values()))
    offered = [name for name in possible if name != "length-quantity" or "feet-inches" not in possible]
    raise reasons.ambiguous(notation, written, [_say_way(name, possible[name], manner) for name in offered])


def _say_way(answer: str, way: Counted, manner: Manner) -> str:
    return say_feet_and_inches(way.length.ticks) if answer == "feet-inches" else say_counted(way, manner)


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
    if first.isdigit() and int(first):
        ways["quantity-length"] = Counted(measure(second, manner), int(first))
    if second.isdigit() and int(second):
        ways["length-quantity"] = Counted(measure(first, manner), int(second))
    return ways


def feet_and_inches(feet: str, inches: str) -> Length | None:
    """Return feet and inches written as two bare numbers, None where they can't be such."""
    if not feet.isdigit() or not 0 < int(feet) <= _MOST_FEET:
        return None
    try:
        return read_length(f"{feet}'{inches}", Unit.IN)
    except LengthError:
        return None


_RESTATED = re.compile(r"([lv])(?:\(([lv])\)|=([lv]))")
_BRACKETED = re.compile(r"[lv]\.q\.")
_OPERATOR = re.compile(r"([lvng])([o+])([lvfn])")
_SLIP = re.compile(r"([lvn])-([fl])")
_LOOSE = re.compile(r"[lv]\+(n)(?![@cExXN(lvgpk-])|^[^lvnpg]*o[^lvnpg]*(?:([fvl])|(n)(?![@cExXN(lvgpk-]))")
_MOREOVER = re.compile("^o(?=[nq(])")
_FEET_DASH_FRACTION = re.compile(
    r"([0-9]+\ ?(?:'|ft\.?|feet|foot))\ +-\ *([0-9]+/[0-9]+\ ?(?:\"|in\.?|inch)?)", re.IGNORECASE
)
_METRES_APART = re.compile(r"(?<=n[@x])ln(?![@xcE])")
_LARGEST_ALLOWANCE = to_ticks(Fraction(6), Unit.IN).ticks
_EACH_END = re.compile(r"(?:(?:at|on|from|off) )?(?:each|ea|per|both)\.? (?:ends?|sides?)")


def join_metres(clause: Clause) -> None:
    """``3 @ 3 m 20``: where something counts the pieces, metres with two digits behind are metres and centimetres."""
    for match in _METRES_APART.finditer(clause.letters):
        at = match.start()
        if written := _METRES.fullmatch(clause.written(at, at + 1)):
            clause.lengths[at] = read_length(f"{written[1]}.{written[2]} m", Unit.M)
            clause.put(at, "l.")


def merge_restated(clause: Clause, manner: Manner) -> None:
    """A length given in two units counts once; two that disagree are a question."""
    for match in _RESTATED.finditer(clause.letters):
        first, second = match.start(1), match.start(match.lastindex or 2)
        if not _agree(clause, first, second, manner):
            readings = (clause.text(first), clause.text(second))
            raise reasons.ambiguous("n (n)", f"{readings[0]} ({readings[1]})", readings)
        clause.put(first, "l" + "." * (match.end() - first - 1))


def settle_bracketed(clause: Clause, manner: Manner) -> None:
    """A quantity in brackets that is the length once more counts nothing where another does: ``4 @ 9'7" (115)``."""
    for match in _BRACKETED.finditer(clause.letters):
        first, second = match.start(), match.start() + 2
        if clause.tokens[second - 1].letter != "(" or not _agree(clause, first, second, manner):
            continue
        if clause.letters.count("q") == 1:
            said, length = clause.text(second), clause.text(first)
            raise reasons.unclear_quantity(said, (f"{said} of {length}", f"1 of {length}"))
        clause.put(second, ".")


def _agree(clause: Clause, first: int, second: int, manner: Manner) -> bool:
    one, two = (measure(clause.text(at), manner) for at in (first, second))
    return abs(one.ticks - two.ticks) <= AGREE


def work_out(clause: Clause, manner: Manner) -> None:
    """Work out ``less 1/2`` and ``plus 1``; a dash before a fraction may be a minus or a slip of the pen."""
    if _MOREOVER.match(clause.letters):
        clause.put(0, ",")
    for match in _OPERATOR.finditer(clause.letters):
        _operate(clause, match.start(), manner)
    for slip in _SLIP.finditer(clause.letters):
        _refuse_slip(clause, slip.start(), manner)
    if loose := _LOOSE.search(clause.letters):
        raise reasons.loose(clause.text(loose.start(loose.lastindex or 0)))


def check_slips(clause: Clause, manner: Manner) -> None:
    """Raise ``Unclear`` for ``12' - 1/4"``, where the dash joins or takes off."""
    for at in clause.all_at("l"):
        if match := _FEET_DASH_FRACTION.fullmatch(clause.text(at)):
            base, by = (read_length(part, Unit.IN).ticks for part in match.groups())
            readings = (say(base + by, manner.unit), say(base - by, manner.unit))
            raise reasons.ambiguous("n - f", clause.text(at), readings)


def _operate(clause: Clause, at: int, manner: Manner) -> None:
    base, by = measure(clause.text(at), manner), _allowance(clause, at + 2, manner)
    if clause.text(at + 1) == "+" and (clause.letters[at + 2] == "n" or by.ticks > _LARGEST_ALLOWANCE):
        return
    times = 2 if _EACH_END.match(clause.written(at + 3, at + 5).lower()) else 1
    sign = 1 if clause.text(at + 1).lower() in ("+", "plus") else -1
    clause.lengths[at] = Length(base.ticks + sign * times * by.ticks, base.exact and by.exact)
    clause.put(at, "l..")


def _allowance(clause: Clause, at: int, manner: Manner) -> Length:
    if clause.letters[at] == "f":
        return read_length(clause.text(at), Unit.IN)
    return measure(clause.text(at), manner)


def _refuse_slip(clause: Clause, at: int, manner: Manner) -> None:
    base, by = measure(clause.text(at), manner).ticks, _allowance(clause, at + 2, manner).ticks
    if by <= _LARGEST_ALLOWANCE < base:
        readings = [say(base + by, manner.unit), say(base - by, manner.unit)]
        raise reasons.ambiguous("n - f", clause.written(at, at + 2), readings)
