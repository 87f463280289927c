"""How this program starts its own processes: same Python, same packages, whatever folder it was started in."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO

_PACKAGES = Path(__file__).resolve().parent.parent
_FORKING = {"OBJC_DISABLE_INITIALIZE_FORK_SAFETY": "YES"} if sys.platform == "darwin" else {}
"""A worker forks for each plan; macOS ends a forked child of a program with threads unless told not to."""


def spawn(
    module: str,
    arguments: Sequence[str] = (),
    *,
    environment: dict[str, str] | None = None,
    log: IO[bytes] | None = None,
) -> subprocess.Popen[bytes]:
    """Start ``python -m module`` in a session of its own, so that Ctrl-C at the terminal reaches its parent alone."""
    return subprocess.Popen(
        # -P: a folder called workers or solver where the user happens to be must not be taken for ours
        [sys.executable, "-P", "-m", module, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=log,
        stderr=log,
        env={**os.environ, **_FORKING, "PYTHONPATH": str(_PACKAGES), **(environment or {})},
        start_new_session=True,
    )


def stop(process: subprocess.Popen[bytes], seconds: float) -> None:
    """Ask a process to end, wait so many seconds, then end it."""
    process.terminate()
    try:
        process.wait(timeout=seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
