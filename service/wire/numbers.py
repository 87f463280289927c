"""Numbers on the wire: counts, amounts, money, seconds, lengths, and figures that are only answered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from decimal import Decimal
from fractions import Fraction
from typing import Any

from marshmallow import ValidationError

from service.wire import limits
from service.wire.fields import Described, Fault, Json, Side, wrong
from solver.lengths import (
    TICKS_PER_MM,
    AmbiguousLength,
    Length,
    LengthError,
    Rounding,
    Unit,
    from_number,
    read_length,
    say,
    to_number,
)
from solver.required import LONGEST_STRETCH
from solver.required import Side as WallSide
from solver.ticks import LONGEST_TEXT, TICKS_PER_INCH

MONEY: Json = {"type": "string", "pattern": r"^\d+\.\d{2,}$"}
"""The shape of money."""
UNITS: ContextVar[Unit] = ContextVar("units", default=Unit.IN)
"""What a bare number means in the request being read, or in the answer being written."""
FOOT = 12 * TICKS_PER_INCH
STICK = limits.STICK_FEET * FOOT
PLACE = LONGEST_STRETCH
ALLOWANCE = 10 * FOOT
"""The longest stick, place along a wall, and lap or gap, in ticks."""
LENGTH: Json = {
    "description": "A length: a number of the request's `units`, or text with or without units of its own, such as "
    "`9' 7\"`, `142 3/8`, `12 ft 6 in` or `3510 mm`. It is kept in whole parts of 1/8128 in, which holds every 64th "
    "of an inch and every tenth of a millimetre; what is finer goes to the nearest part, for stock and offcuts to the "
    "one below, for kerf to the one above, and no warning speaks of it. Answers write a number where that "
    "is exact, else millimetres as text, so that what was answered can be sent again.",
    "type": ["number", "string"],
    "format": "length",
    "minLength": 1,
    "maxLength": LONGEST_TEXT,
}
"""The component that every length of a request refers to."""
MEASURE: Json = {
    "description": "A length as a number of the request's `units`, with up to 6 decimals.",
    "type": "number",
}
"""The component that every length of a result refers to."""


class Count(Described):
    """A whole number within limits; 5.0 is one."""

    def __init__(self, about: str = "", least: int = 0, most: int | None = None, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, **settings)
        self.least, self.most = least, most

    def _deserialize(self, value: object, *_: object, **__: object) -> int:
        most = self.most or limits.PIECES
        number = exact_number(value, len(str(most)))
        if not self.least <= number <= most:
            raise wrong("out_of_range", f"must be from {self.least} to {most}")
        if number != int(number):
            raise wrong("not_whole", "must be a whole number")
        return int(number)

    def shape(self, side: Side) -> Json:
        """A whole number, with the limits of requests."""
        told: Json = {"type": "integer", "minimum": self.least}
        return told | {"maximum": self.most} if side.asked and self.most is not None else told


class Amount(Described):
    """A decimal number within limits, as a number or as text (``"9.80"``), exact."""

    def __init__(self, about: str, most: int, decimals: int, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, **settings)
        self.most, self.decimals = most, decimals

    def _deserialize(self, value: object, *_: object, **__: object) -> Decimal:
        number = exact_number(_decimal_text(value) if isinstance(value, str) else value)
        if not 0 <= number <= self.most:
            raise wrong("out_of_range", f"must be from 0 to {self.most}")
        exponent = number.as_tuple().exponent
        if isinstance(exponent, int) and -exponent > self.decimals:
            raise wrong("too_many_decimals", f"may have {self.decimals} decimals at most")
        return number

    def _serialize(self, value: Decimal | None, *_: object, **__: object) -> str | float | None:
        if value is None:
            return None
        return f"{value:f}" if self.sent_again else float(value)

    def shape(self, side: Side) -> Json:
        """A number or decimal text where it is asked, text where it is answered to be sent again, else a number."""
        if not side.asked:
            return {"type": "string", "pattern": r"^\d+(\.\d+)?$"} if self.sent_again else {"type": "number"}
        text = {"pattern": rf"^\s*(\d+\.?\d{{0,{self.decimals}}}|\.\d{{1,{self.decimals}}})\s*$", "maxLength": 20}
        return {"type": ["string", "number"], "minimum": 0, "maximum": self.most, **text}


class Number(Described):
    """A number that is only answered: a figure worked out here."""

    def shape(self, side: Side) -> Json:
        """Any number."""
        del side
        return {"type": "number"}


class Money(Described):
    """Money as a decimal string with at least two decimals, in the currency of the prices."""

    def _serialize(self, value: Decimal | None, *_: object, **__: object) -> str | None:
        return money(value)

    def shape(self, side: Side) -> Json:
        """Decimal text."""
        del side
        return MONEY


def money(amount: Decimal | None) -> str | None:
    """Return money as a decimal string with at least two decimals."""
    if amount is None:
        return None
    exponent = amount.normalize().as_tuple().exponent
    places = max(2, -exponent) if isinstance(exponent, int) else 2
    return f"{amount:.{places}f}"


class Seconds(Described):
    """A time of more than 0 seconds, within a limit."""

    def _deserialize(self, value: object, *_: object, **__: object) -> float:
        number = exact_number(value)
        if not 0 < number <= limits.SECONDS:
            raise wrong("out_of_range", f"must be more than 0 and at most {limits.SECONDS}")
        return float(number)

    def shape(self, side: Side) -> Json:
        """A number of seconds."""
        del side
        return {"type": "number", "exclusiveMinimum": 0, "maximum": limits.SECONDS}


def exact_number(value: object, digits: int = 20) -> Decimal:
    """Return a JSON number exactly. Raises ``ValidationError`` for what is none, or has more ``digits``."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise wrong("wrong_type", "must be a number")
    # JSON has a zero below 0, which is no other number and would be written as one
    number = Decimal(repr(value or 0)) if isinstance(value, float) else Decimal(value)
    if not number.is_finite() or (number and not -20 <= number.adjusted() <= max(20, digits)):
        raise wrong("out_of_range", "must be a finite number of ordinary size")
    return number


def _decimal_text(text: str) -> Decimal:
    plain = text.strip()
    digits = plain.replace(".", "", 1)
    if len(plain) > 20 or not (digits.isascii() and digits.isdigit()):
        raise wrong("wrong_form", 'must be decimal digits, as in "9.80"')
    return Decimal(plain)


@contextmanager
def in_units(unit: Unit) -> Iterator[None]:
    """Read and write lengths in these units."""
    token = UNITS.set(unit)
    try:
        yield
    finally:
        UNITS.reset(token)


def _range(least: int, most: int) -> str:
    low = "More than 0" if least == 1 else f"From {_feet(least)}" if least else "0 or more"
    return f"{low}, at most {_feet(most)}."


def _feet(length: int) -> str:
    customary = f"{length // TICKS_PER_INCH} in" if length % FOOT else f"{length // FOOT} ft"
    return f"{customary} ({length / TICKS_PER_MM / 1000:.2f} m)"


class LengthField(Described):
    """A length as a number of the request's units or as text; rounded to a tick as told, within limits in ticks.

    It is written as text where a number would not be exact, so that what is answered can be sent again; a schema whose
    answers are not meant for that writes a plain number.
    """

    def __init__(
        self,
        about: str = "",
        *,
        least: int = 0,
        most: int = PLACE,
        rounding: Rounding = Rounding.NEAREST,
        **settings: Any,  # noqa: ANN401 - handed on to marshmallow
    ) -> None:
        super().__init__(about, **settings)
        self.least, self.most, self.rounding = least, most, rounding

    def _deserialize(self, value: object, *_: object, **__: object) -> Length:
        try:
            length = self._read(value)
        except AmbiguousLength as error:
            raise ValidationError([_ambiguous(error)]) from None
        except LengthError as error:
            raise wrong(error.code, error.detail) from None
        self._check(length.ticks)
        return length

    def _read(self, value: object) -> Length:
        if isinstance(value, str):
            return read_length(value, UNITS.get(), self.rounding)
        if isinstance(value, int | float | Decimal):
            return from_number(value, UNITS.get(), self.rounding)
        raise LengthError("not_a_length", "a length is a number or text")

    def _check(self, ticks: int) -> None:
        if ticks < self.least:
            low = "more than 0" if self.least == 1 else f"at least {say(self.least, UNITS.get())}"
            raise wrong("length_out_of_range", f"must be {low}")
        if ticks > self.most:
            raise wrong("length_out_of_range", f"must be at most {say(self.most, UNITS.get())}")

    def _serialize(self, value: int | Fraction | None, *_: object, **__: object) -> int | float | str | None:
        if value is None:
            return None
        return written(round(value), UNITS.get()) if self.sent_again else to_number(round(value), UNITS.get())

    def keeps_to(self, side: Side) -> str:
        """The limits of what is sent; figures of an answer, such as sums, have none."""
        return _range(self.least, self.most) if side.asked or self.sent_again else ""

    def shape(self, side: Side) -> Json:
        """A length; the limits hold for a number of whatever unit."""
        if not (side.asked or self.sent_again):
            return {"$ref": "#/components/schemas/Measure"}
        low = {"exclusiveMinimum": 0} if self.least == 1 else {"minimum": self.least // TICKS_PER_MM}
        return {"$ref": "#/components/schemas/Length", **low, "maximum": -(-self.most // TICKS_PER_MM)}


class SumField(LengthField):
    """Lengths together, which are as long as there are many."""

    def keeps_to(self, side: Side) -> str:
        """No limits."""
        del side
        return ""

    def shape(self, side: Side) -> Json:
        """A length without an upper limit."""
        del side
        return {"$ref": "#/components/schemas/Length", "minimum": 0}


class SaidLength(Described):
    """The text of a length as a person would say it; it is only answered."""

    def __init__(self, about: str, of: Callable[[Any], int | Fraction | None], **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, of=of, dump_only=True, **settings)

    def _serialize(self, value: int | Fraction | None, *_: object, **__: object) -> str | None:
        return None if value is None else say(round(value), UNITS.get())

    def shape(self, side: Side) -> Json:
        """Text."""
        del side
        return {"type": "string"}


class PlaceField(Described):
    """Where a wall is seen from: a side, or a position along it."""

    _length = LengthField(least=-PLACE)

    def _deserialize(self, value: object, *_: object, **__: object) -> WallSide | Length:
        if isinstance(value, str) and value in list(WallSide):
            return WallSide(value)
        try:
            found: Length = self._length.deserialize(value)
        except ValidationError:
            raise wrong("wrong_form", "must be left, right, a position along the wall, or null") from None
        return found

    def _serialize(self, value: WallSide | int | None, *_: object, **__: object) -> int | float | str | None:
        return value if value is None or isinstance(value, WallSide) else written(value, UNITS.get())

    def shape(self, side: Side) -> Json:
        """A side or a length."""
        return {"anyOf": [{"type": "string", "enum": [*map(str, WallSide)]}, self._length.shape(side)]}


def _ambiguous(error: AmbiguousLength) -> Fault:
    return Fault(error.detail, error.code, tuple(reading.text for reading in error.readings))


def ticks(value: Any) -> Any:  # noqa: ANN401 - passes on whatever is no length
    """Return a length's ticks, anything else as it is."""
    return value.ticks if isinstance(value, Length) else value


def plain(data: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was loaded with every length as ticks."""
    return {name: ticks(value) for name, value in data.items()}


def written(length: int, unit: Unit) -> int | float | str:
    """Return a length in ticks as a number of ``unit`` if that is exact, else as millimetres, which always are."""
    number = to_number(length, unit)
    if Fraction(repr(number)) * unit.ticks == length:
        return number
    return f"{Decimal(length) / TICKS_PER_MM:f} mm"
