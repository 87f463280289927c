"""A whole installation for one test: a real Redis server, the app, and as many real worker processes as wanted."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from service.app import create_app
from service.state import Config
from tests.support.contract import HeldClient
from workers.connection import URL_VARIABLE, patient
from workers.local_redis import LocalRedis
from workers.plans.record import Record
from workers.plans.store import Store
from workers.process import spawn

PATIENCE = 60
"""Seconds after which a test stops waiting for what should have happened long ago."""


class Stack:
    """Redis, app and workers of one test; ``stubbed`` workers plan as the job's name tells them."""

    def __init__(self, folder: Path, **config: Any) -> None:  # noqa: ANN401
        self.folder = folder
        self.redis = LocalRedis(folder)
        self.redis.start()
        self.store = Store(patient(self.redis.url))
        self.app = create_app(Config(self.redis.url, **{"rate": 10**6, **config}))
        self.app.test_client_class = HeldClient
        self.workers: list[subprocess.Popen[bytes]] = []
        self.key = ""

    @property
    def client(self) -> Any:  # noqa: ANN401 - answers are JSON of any shape
        """A client of the app, which brings the key that this installation has for it, if any."""
        client = self.app.test_client()
        if self.key:
            client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {self.key}"
        return client

    def start_worker(self, *options: str, stubbed: bool = False) -> subprocess.Popen[bytes]:
        """Start one worker process and wait until it works."""
        module = "tests.support.stubbed_worker" if stubbed else "workers.worker"
        worker = spawn(module, ["--die-with-parent", *options], environment={URL_VARIABLE: self.redis.url})
        self.workers.append(worker)
        eventually(lambda: self._listens(worker))
        return worker

    def record(self, plan_id: str) -> Record:
        """Return what the store knows of a plan."""
        record = self.store.fetch(plan_id)
        assert record is not None
        return record

    def settled(self, plan_id: str) -> Record:
        """Wait until a plan is over and return its record."""
        eventually(lambda: self.record(plan_id).state.over)
        return self.record(plan_id)

    def post(self, body: object, **headers: str) -> Any:  # noqa: ANN401
        """Post a request to plan; an underscore in a header's name stands for a dash."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.post("/v1/cut-plans", json=body, headers=named)

    def posted(self, body: object, **headers: str) -> str:
        """Post a request that must be accepted and return the plan's id."""
        answer = self.post(body, **headers)
        assert answer.status_code in (200, 202), answer.text
        return str(answer.json["id"])

    def close(self) -> None:
        """Stop everything."""
        for worker in self.workers:
            if worker.poll() is None:
                worker.send_signal(signal.SIGCONT)
                worker.kill()
                worker.wait()
        for client in (self.store.redis, self.app.extensions["lapstock"].store.redis):
            client.connection_pool.disconnect()
        if self.redis.alive():
            os.kill(self.redis.pid, signal.SIGCONT)
        self.redis.stop()

    def _listens(self, worker: subprocess.Popen[bytes]) -> bool:
        assert worker.poll() is None, "the worker ended at once"
        return any(f"-{worker.pid}-" in str(name) for name in self.store.redis.smembers("rq:workers"))


@contextmanager
def stack(folder: Path, **config: Any) -> Iterator[Stack]:  # noqa: ANN401
    """Yield a running installation without workers, and stop it in the end."""
    running = Stack(folder, **config)
    try:
        yield running
    finally:
        running.close()


def eventually(holds: Callable[[], object]) -> None:
    """Wait until something holds. Raises AssertionError if it never does."""
    until = time.monotonic() + PATIENCE
    while not holds():
        assert time.monotonic() < until, "it never came to hold"
        time.sleep(0.02)


def children(pid: int) -> list[int]:
    """Return the processes whose parent is ``pid``."""
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            after_name = status.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(after_name[1]) == pid and after_name[0] != "Z":
            found.append(int(status.parent.name))
    return found


def descendants(pid: int) -> list[int]:
    """Return every process below ``pid``."""
    below = children(pid)
    return [*below, *(deeper for child in below for deeper in descendants(child))]


def command_of(pid: int) -> str:
    """Return the command line of a process, empty if it is gone."""
    try:
        return Path(f"/proc/{pid}/cmdline").read_text().replace("\0", " ").strip()
    except OSError:
        return ""


def alive(pid: int) -> bool:
    """Whether a process runs (a zombie does not)."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
