"""What is wrong with a plan."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: its code, its place, what was needed and what was found.

    The place is a JSON pointer into the plan as a result has it, or under ``#/required`` into the request.
    """

    code: str
    place: str
    detail: str


def told(needed: object, found: object) -> str:
    """Return the detail of a fault, in one wording everywhere."""
    return f"needed {needed}, found {found}"


def money(amount: Decimal | Fraction) -> str:
    """Return an amount in decimals: two of them, or up to four if it has as many."""
    whole, _, parts = f"{Decimal(Fraction(amount).numerator) / Fraction(amount).denominator:.4f}".partition(".")
    return f"{whole}.{parts.rstrip('0').ljust(2, '0')}"
