"""How much memory one plan's process may take."""

from __future__ import annotations

import os
import resource
import sys

MEMORY_VARIABLE = "LAPSTOCK_WORKER_MEMORY_MB"
"""Environment variable that limits the address space of one plan's process."""
MEMORY_MB = 4096


def limit_memory() -> None:
    """Limit the address space of this process (Linux; macOS takes no such limit and refuses to be asked)."""
    if sys.platform != "linux":
        return
    most = int(os.environ.get(MEMORY_VARIABLE, MEMORY_MB)) * 1024 * 1024
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (most if hard < 0 else min(most, hard), hard))
