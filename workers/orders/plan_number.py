"""The number of a plan, as it stands on screen and paper and is said over the telephone.

Digits alone: no letter is taken for another, on paper or in speech. Every plan of an installation takes the next
serial number, whoever asks for it, so that a sheet of paper means one plan and no number comes twice. The last digit
checks the others: with one digit wrong, or two neighbours swapped, it is no plan's number (H. M. Damm, "Totally
anti-symmetric quasigroups for all orders n not equal to 2, 6", 2007).
"""

from __future__ import annotations

import re

_BEFORE_FIRST = 9_999
"""Numbers begin with six digits: 10,000 and its check digit."""
_TABLE = (
    "0317598642", "7092154863", "4206871359", "1750983426", "6123045978",
    "3674209581", "5869720134", "8945362017", "9438617205", "2581436790",
)  # fmt: skip
"""A totally anti-symmetric quasigroup of order ten, from memory; the tests go through every error it must tell."""
_ASIDE = re.compile(r"[\s.#-]|^no\b", re.IGNORECASE)


def number_of(serial: int) -> str:
    """Return the number of the plan with a serial number, which counts from 1."""
    digits = str(_BEFORE_FIRST + serial)
    return digits + str(_left_by(digits))


def serial_of(written: str) -> int | None:
    """Return the serial number that a number as people write it stands for; None where it can be no plan's number."""
    digits = _ASIDE.sub("", written.strip())
    if not (digits.isascii() and digits.isdecimal() and 6 <= len(digits) <= 12) or _left_by(digits):
        return None
    serial = int(digits[:-1]) - _BEFORE_FIRST
    return serial if serial > 0 and not digits.startswith("0") else None


def _left_by(digits: str) -> int:
    """Return the check digit of digits; it is 0 where they end with it."""
    left = 0
    for digit in digits:
        left = int(_TABLE[left][int(digit)])
    return left
