"""Processes that die with their parent, so that a killed supervisor leaves nothing running behind.

``python -m workers.tied COMMAND ...`` becomes the command, tied to whoever started it.
"""

from __future__ import annotations

import ctypes
import os
import signal
import sys

_SET_PARENT_DEATH_SIGNAL = 1


def die_with_parent(how: signal.Signals = signal.SIGKILL) -> None:
    """Have the kernel send ``how`` to this process when its parent dies (Linux; elsewhere leases must do)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_SET_PARENT_DEATH_SIGNAL, int(how), 0, 0, 0)


def main() -> None:
    """Become the command given as arguments, tied to the parent."""
    die_with_parent(signal.SIGTERM)
    os.execvp(sys.argv[1], sys.argv[1:])  # noqa: S606 - the command is the supervisor's own


if __name__ == "__main__":
    main()
