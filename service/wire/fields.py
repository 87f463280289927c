"""Fields of a request: lengths, counts, money, texts. Each refuses what it can't take in words a person can act on."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from contextvars import ContextVar
from decimal import Decimal
from enum import StrEnum
from typing import Any

from marshmallow import ValidationError, fields

from service.wire import limits
from solver.lengths import AmbiguousLength, Length, LengthError, Rounding, Unit, from_number, read_length, say
from solver.ticks import TICKS_PER_INCH

UNITS: ContextVar[Unit] = ContextVar("units", default=Unit.IN)
"""What a bare number means in the request being read."""
FOOT = 12 * TICKS_PER_INCH


class Fault(str):
    """A message that also carries a code, and the readings of an ambiguous length."""

    __slots__ = ("code", "readings")

    def __new__(cls, detail: str, code: str, readings: tuple[str, ...] = ()) -> Fault:  # noqa: PYI034
        """Return the message with its code and readings."""
        fault = super().__new__(cls, detail)
        fault.code, fault.readings = code, readings
        return fault

    code: str
    readings: tuple[str, ...]


class LengthField(fields.Field[Length]):
    """A length as a number of the request's units or as text; rounded to a tick as told, within limits in ticks."""

    def __init__(
        self,
        *,
        least: int = 0,
        most: int = limits.STRETCH_FEET * FOOT,
        rounding: Rounding = Rounding.NEAREST,
        **settings: Any,  # noqa: ANN401 - handed on to marshmallow
    ) -> None:
        super().__init__(**settings)
        self.least, self.most, self.rounding = least, most, rounding

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> Length:
        del attr, data
        try:
            length = self._read(value)
        except AmbiguousLength as error:
            raise ValidationError([_ambiguous(error)]) from None
        except LengthError as error:
            raise ValidationError([Fault(error.detail, error.code)]) from None
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
            raise ValidationError([Fault(f"must be {low}", "length_out_of_range")])
        if ticks > self.most:
            raise ValidationError([Fault(f"must be at most {say(self.most, UNITS.get())}", "length_out_of_range")])


def _ambiguous(error: AmbiguousLength) -> Fault:
    return Fault(error.detail, error.code, tuple(reading.text for reading in error.readings))


class Count(fields.Field[int]):
    """A whole number within limits; 5.0 is one."""

    def __init__(self, least: int, most: int, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(**settings)
        self.least, self.most = least, most

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> int:
        del attr, data
        number = exact_number(value, len(str(self.most)))
        if not self.least <= number <= self.most:
            raise ValidationError(f"must be from {self.least} to {self.most}")
        if number != int(number):
            raise ValidationError("must be a whole number")
        return int(number)


class Amount(fields.Field[Decimal]):
    """A decimal number within limits, as a number or as text (``"9.80"``), exact."""

    def __init__(self, most: int, decimals: int, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(**settings)
        self.most, self.decimals = most, decimals

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> Decimal:
        del attr, data
        number = exact_number(_decimal_text(value) if isinstance(value, str) else value)
        if not 0 <= number <= self.most:
            raise ValidationError(f"must be from 0 to {self.most}")
        exponent = number.as_tuple().exponent
        if isinstance(exponent, int) and -exponent > self.decimals:
            raise ValidationError(f"may have {self.decimals} decimals at most")
        return number


class Seconds(fields.Field[float]):
    """A time of more than 0 seconds, within a limit."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> float:
        del attr, data
        number = exact_number(value)
        if not 0 < number <= limits.SECONDS:
            raise ValidationError(f"must be more than 0 and at most {limits.SECONDS}")
        return float(number)


class Flag(fields.Field[bool]):
    """True or false, and nothing that merely looks so."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> bool:
        del attr, data
        if not isinstance(value, bool):
            raise ValidationError("must be true or false")
        return value


class Companion(fields.Field[None]):
    """An object that travels with a request and is not looked at: what a take-off says beside its items."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> None:
        del attr, data
        if not isinstance(value, dict):
            raise ValidationError("must be an object")


class Text(fields.Field[str]):
    """A text of limited length without control characters."""

    def __init__(self, least: int = 0, most: int = limits.TEXT, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(**settings)
        self.least, self.most = least, most

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> str:
        del attr, data
        if not isinstance(value, str):
            raise ValidationError("must be text")
        if not self.least <= len(value) <= self.most:
            raise ValidationError(f"must have from {self.least} to {self.most} characters")
        if any(unicodedata.category(character) == "Cc" for character in value):
            raise ValidationError("must not hold control characters")
        return value


class Choice(fields.Field[Any]):
    """One word of an enumeration."""

    def __init__(self, words: type[StrEnum], **settings: Any) -> None:  # noqa: ANN401
        super().__init__(**settings)
        self.words = words

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> StrEnum:
        del attr, data
        if isinstance(value, str) and value in list(self.words):
            return self.words(value)
        raise ValidationError(f"must be one of: {', '.join(self.words)}")


def exact_number(value: object, digits: int = 20) -> Decimal:
    """Return a JSON number exactly. Raises ``ValidationError`` for what is none, or has more ``digits``."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise ValidationError("must be a number")
    number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    if not number.is_finite() or (number and not -20 <= number.adjusted() <= max(20, digits)):
        raise ValidationError("must be a finite number of ordinary size")
    return number


def _decimal_text(text: str) -> Decimal:
    plain = text.strip()
    digits = plain.replace(".", "", 1)
    if len(plain) > 20 or not (digits.isascii() and digits.isdigit()):
        raise ValidationError('must be decimal digits, as in "9.80"')
    return Decimal(plain)
