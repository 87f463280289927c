"""Numbers on the wire: counts, amounts, money, seconds, and figures that are only answered."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from service.wire import limits
from service.wire.faults import wrong
from service.wire.fields import Described, Json, Side


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


MONEY: Json = {"type": "string", "pattern": r"^\d+\.\d{2,}$"}
"""The shape of money."""


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
    number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    if not number.is_finite() or (number and not -20 <= number.adjusted() <= max(20, digits)):
        raise wrong("out_of_range", "must be a finite number of ordinary size")
    return number


def _decimal_text(text: str) -> Decimal:
    plain = text.strip()
    digits = plain.replace(".", "", 1)
    if len(plain) > 20 or not (digits.isascii() and digits.isdigit()):
        raise wrong("wrong_form", 'must be decimal digits, as in "9.80"')
    return Decimal(plain)
