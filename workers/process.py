"""Processes of this program: the numbers they are set up with, how they start and die with their parent, their memory.

``python -m workers.process COMMAND ...`` becomes the command, and dies with whoever started it.
"""

from __future__ import annotations

import ctypes
import os
import resource
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO


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


MEMORY_VARIABLE = "LAPSTOCK_WORKER_MEMORY_MB"
"""Environment variable that limits the address space of a process that plans, in MiB."""
MEMORY_MB = whole_number(MEMORY_VARIABLE, 4096)
_SET_PARENT_DEATH_SIGNAL = 1
_STARTER = "LAPSTOCK_STARTED_BY"
"""Environment variable that tells a process which other has started it."""
_PACKAGES = Path(__file__).resolve().parent.parent
_FORKING = {"OBJC_DISABLE_INITIALIZE_FORK_SAFETY": "YES"} if sys.platform == "darwin" else {}
"""A worker forks the processes that plan; macOS ends a forked child of a program with threads unless told not to."""


def spawn(
    module: str,
    arguments: Sequence[str] = (),
    *,
    environment: dict[str, str] | None = None,
    log: IO[bytes] | None = None,
    keeping: Sequence[int] = (),
) -> subprocess.Popen[bytes]:
    """Start ``python -m module`` in a session of its own, so that Ctrl-C at the terminal reaches its parent alone.

    It holds the open files ``keeping`` for as long as it lives, and what it writes is nobody else's to read.
    """
    ours = {"PYTHONPATH": str(_PACKAGES), _STARTER: str(os.getpid())}
    return subprocess.Popen(
        # -P: a folder called workers or solver where the user happens to be must not be taken for ours
        [sys.executable, "-P", "-m", module, *arguments],
        stdin=subprocess.DEVNULL,
        stdout=log,
        stderr=log,
        env={**os.environ, **_FORKING, **ours, **(environment or {})},
        start_new_session=True,
        umask=0o077,
        pass_fds=tuple(keeping),
    )


def stop(process: subprocess.Popen[bytes], seconds: float) -> None:
    """Ask a process to end, wait so many seconds, then end it."""
    process.terminate()
    try:
        process.wait(timeout=seconds)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def limit_memory() -> None:
    """Limit the address space of this process (Linux; macOS takes no such limit and refuses to be asked)."""
    if sys.platform != "linux":
        return
    most = MEMORY_MB * 1024 * 1024
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (most if hard < 0 else min(most, hard), hard))


def peak_memory_mb() -> float:
    """Return the most memory that this process ever held, in MiB."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 2**10 if sys.platform == "linux" else peak / 2**20


def die_with_parent(how: signal.Signals = signal.SIGKILL) -> None:
    """Have the kernel send ``how`` to this process when its parent dies (Linux; elsewhere leases must do)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_SET_PARENT_DEATH_SIGNAL, int(how), 0, 0, 0)


def die_with_starter(how: signal.Signals = signal.SIGKILL) -> None:
    """Do the same in a process that ``spawn`` has started, and end it if its starter is dead already.

    A parent that died while its child was still being loaded sends no signal any more.
    """
    die_with_parent(how)
    starter = os.environ.pop(_STARTER, None)
    if starter is not None and os.getppid() != int(starter):
        os.kill(os.getpid(), how)


def main() -> None:
    """Become the command given as arguments, tied to whoever started it."""
    die_with_starter(signal.SIGTERM)
    os.execvp(sys.argv[1], sys.argv[1:])  # noqa: S606 - the command is the supervisor's own


if __name__ == "__main__":
    main()
