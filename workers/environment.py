"""Settings from ``LAPSTOCK_…`` environment variables, among them how long a worker may be silent."""

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


LEASE_SECONDS = whole_number("LAPSTOCK_LEASE_SECONDS", 15)
"""A running plan whose worker has not been heard of for so long has lost it."""
BEAT_SECONDS = min(0.5, LEASE_SECONDS / 10)
"""How often a running plan's progress goes out and a cancel can come in."""
SWEEP_SECONDS = LEASE_SECONDS / 5
"""How often each worker shows that it lives and looks for lost plans."""
ALIVE_SECONDS = LEASE_SECONDS
"""A worker not seen for so long is not counted as alive."""
