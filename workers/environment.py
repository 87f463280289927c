"""Whole numbers from ``LAPSTOCK_…`` environment variables, and what ends a program that is given anything else."""

from __future__ import annotations

import os


class BadSetting(SystemExit):
    """A variable of the environment holds what can't be; uncaught, it ends the program with a sentence."""

    def __init__(self, variable: str, must: str) -> None:
        """Say what the variable must be."""
        super().__init__(f"Error: {variable} must be {must}")


def whole_number(variable: str, default: int) -> int:
    """Return the whole number above 0 that a variable holds, or a default. Raises ``BadSetting``."""
    value = os.environ.get(variable, "")
    if value and not (value.isascii() and value.isdigit() and len(value) < 12 and int(value)):
        raise BadSetting(variable, f"a whole number above 0, not {value[:40]!r}")
    return int(value or default)
