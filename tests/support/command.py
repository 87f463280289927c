"""The command ``lapstock`` as a process of its own."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import requests

from tests.support.stack import PATIENCE, descendants, eventually

ROOT = Path(__file__).parent.parent.parent
LAPSTOCK = [sys.executable, "-m", "service"]


def lapstock(
    *arguments: str, stdin: str = "", environment: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """Run the command to its end."""
    return subprocess.run(
        [*LAPSTOCK, *arguments],
        input=stdin,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        cwd=ROOT,
        env={**os.environ, **(environment or {})},
        check=False,
    )


class Serving:
    """``lapstock serve`` or ``lapstock api`` on a free port, with what it printed."""

    def __init__(
        self, *arguments: str, command: str = "serve", environment: dict[str, str] | None = None, root: Path = ROOT
    ) -> None:
        with tempfile.NamedTemporaryFile(prefix="lapstock-serve-", delete=False) as log:
            self._log = Path(log.name)
            self.process = subprocess.Popen(
                [*LAPSTOCK, command, "--port", "0", *arguments],
                stdout=log,
                stderr=log,
                cwd=root,
                env={**os.environ, "PYTHONUNBUFFERED": "1", "LAPSTOCK_RATE": "1000000", **(environment or {})},
            )
        eventually(lambda: "serves http" in self.printed or self.process.poll() is not None)
        self.below = descendants(self.process.pid)

    @property
    def printed(self) -> str:
        """What it has printed so far."""
        return self._log.read_text()

    @property
    def address(self) -> str:
        """Where it serves."""
        found = re.search(r"http://\S+?(?=/\s)", self.printed)
        assert found, self.printed
        return found[0]

    def ready(self) -> None:
        """Wait until plans can be made."""
        eventually(lambda: requests.get(f"{self.address}/health/ready", timeout=10).status_code == 200)
        self.below = descendants(self.process.pid)

    def end(self) -> None:
        """Stop it, if it runs still."""
        if self.process.poll() is None:
            self.process.terminate()
        self.process.wait(timeout=PATIENCE)
        self._log.unlink(missing_ok=True)


@contextmanager
def lapstock_serve(
    *arguments: str, command: str = "serve", environment: dict[str, str] | None = None
) -> Iterator[Serving]:
    """Yield a serving installation and end it."""
    serving = Serving(*arguments, command=command, environment=environment)
    try:
        yield serving
    finally:
        serving.end()
