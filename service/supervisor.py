"""Everything on one machine: a local Redis if none is given, the workers, and care for those that die."""

from __future__ import annotations

import logging
import os
import subprocess
import time
from pathlib import Path

from workers.connection import URL_VARIABLE, require_answer, shown
from workers.local_redis import LocalRedis
from workers.process import spawn

GRACE_SECONDS = 5
"""How long workers may go on with the plan they are at when everything is stopped; then it is handed back."""
_BREATH = 2

log = logging.getLogger(__name__)


class Supervisor:
    """Redis and worker processes, started, kept alive and stopped in the right order."""

    def __init__(self, folder: Path, workers: int) -> None:
        """Take ``workers`` of any plan, and one more that is there for interactive requests."""
        given = os.environ.get(URL_VARIABLE)
        self._redis = None if given else LocalRedis(folder)
        self._given = given
        self._folder = folder
        self._wanted = [("--die-with-parent",)] * workers + [("--die-with-parent", "--interactive")]
        self._workers: dict[int, subprocess.Popen[bytes]] = {}
        self._last_start = 0.0

    @property
    def url(self) -> str:
        """Address of Redis."""
        return self._redis.url if self._redis else str(self._given)

    @property
    def keeper(self) -> str:
        """Where plans are kept, for people to read."""
        return f"the Redis at {shown(self._given)}" if self._given else f"the folder {self._folder}"

    def start(self) -> None:
        """Start everything. Raises ``NoRedis`` where Redis can't be started, ``NoAnswer`` where it is not there."""
        if self._redis:
            self._redis.start()
        else:
            require_answer(self.url)
        self._fill_up()

    def tend(self) -> None:
        """Start again whatever has died, at most every other second."""
        if self._redis and not self._redis.alive():
            log.error("the Redis server died; starting it again")
            self._redis.start()
        self._workers = {place: worker for place, worker in self._workers.items() if worker.poll() is None}
        if len(self._workers) < len(self._wanted) and time.monotonic() - self._last_start > _BREATH:
            log.error("a worker died; starting another")
            self._fill_up()

    def stop(self) -> None:
        """Stop the workers, who may finish what is nearly done, then Redis."""
        for worker in self._workers.values():
            worker.terminate()
        until = time.monotonic() + GRACE_SECONDS
        if not self._ended(until):
            for worker in self._workers.values():
                worker.terminate()
            self._ended(until + GRACE_SECONDS)
        for worker in self._workers.values():
            worker.kill()
            worker.wait()
        if self._redis:
            self._redis.stop()

    def _fill_up(self) -> None:
        self._last_start = time.monotonic()
        environment = {URL_VARIABLE: self.url, "OMP_NUM_THREADS": "1"}
        for place, arguments in enumerate(self._wanted):
            if place not in self._workers:
                self._workers[place] = spawn("workers.worker", arguments, environment=environment)

    def _ended(self, until: float) -> bool:
        while any(worker.poll() is None for worker in self._workers.values()) and time.monotonic() < until:
            time.sleep(0.05)
        return all(worker.poll() is not None for worker in self._workers.values())
