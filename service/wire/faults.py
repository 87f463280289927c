"""What is wrong with one place of a request: in words for people, with a code for programs."""

from __future__ import annotations

from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA


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


def wrong(code: str, detail: str, field: str = SCHEMA) -> ValidationError:
    """Return an error with one fault, in a field of what is read or in the whole of it."""
    return ValidationError([Fault(detail, code)], field)
