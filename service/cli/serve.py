"""Serving: the API alone, or with everything it needs on this machine, Redis and workers, kept alive."""

from __future__ import annotations

import logging
import os
import subprocess
import time
from dataclasses import replace
from math import inf
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

import click

from service.state import Config
from workers.connection import URL_VARIABLE, NoAddress, NoAnswer, impatient, require_answer, shown
from workers.keys import Keys
from workers.local_redis import LocalRedis, NoFolder, NoRedis
from workers.process import spawn

if TYPE_CHECKING:
    from service.cli.server import ApiServer

LOOPBACK = ("127.0.0.1", "localhost", "::1", "[::1]")
"""Names of this machine, for itself alone."""
_NOT_YET = "unix:"
"""In the place of the address of a Redis that is still to be started."""
GRACE_SECONDS = 5
"""How long workers may go on with the plan they are at when everything is stopped; then it is handed back."""
_BREATH = 2
"""Seconds between two starts of workers or of Redis, lest one that dies at once is started without end."""
log = logging.getLogger(__name__)


def serve_all(host: str, port: int, folder: Path, workers: int, stopped: Event) -> None:
    """Serve until stopped. Raises ``ClickException`` where Redis, the folder or the port can't be had."""
    try:
        config = Config.from_environment(_NOT_YET)
        supervisor = Supervisor(folder, workers)
        supervisor.start()
    except (NoRedis, NoFolder, NoAnswer) as error:
        raise click.ClickException(str(error)) from None
    try:
        config = replace(config, redis_url=supervisor.url)
        _refuse_strangers(config, host)
        # a page elsewhere whose name is made to lead here must not get to use a server that is for this machine
        config = replace(config, hosts=config.hosts or LOOPBACK) if host in LOOPBACK else config
        server = _server(config, host, port)
        hands = f"{workers} worker{'s' * (workers > 1)}, one for interactive requests and one for newcomers"
        click.echo(f"lapstock serves http://{host}:{server.port}/ with {hands}; Ctrl-C stops it")
        click.echo(f"everything is kept in {supervisor.keeper}")
        server.serve(stopped.is_set, supervisor.tend)
    finally:
        supervisor.stop()
    click.echo("stopped")


def serve_api(host: str, port: int, stopped: Event) -> None:
    """Serve the API until stopped, with the Redis of the environment."""
    try:
        config = Config.from_environment()
        require_answer(config.redis_url)
    except (NoAddress, NoAnswer) as error:
        raise click.ClickException(str(error)) from None
    _refuse_strangers(config, host)
    server = _server(config, host, port)
    click.echo(f"lapstock serves http://{host}:{server.port}/")
    server.serve(stopped.is_set)


def _refuse_strangers(config: Config, host: str) -> None:
    """Refuse to serve where others than this machine can come in and nobody is asked who they are."""
    if host not in LOOPBACK and not config.api_keys and not Keys(impatient(config.redis_url)).exist():
        raise click.ClickException(
            f"whoever reaches {host} could use this server, for there is no API key; make one with "
            "lapstock key add NAME, or serve this machine alone with --host 127.0.0.1"
        )


def _server(config: Config, host: str, port: int) -> ApiServer:
    # imported here, so that Redis and the workers start meanwhile, and what is wrong with them is told at once
    from service.app import create_app  # noqa: PLC0415
    from service.cli.desk import Desk  # noqa: PLC0415
    from service.cli.server import ApiServer  # noqa: PLC0415

    try:
        app = create_app(config)
        return ApiServer(app, host, port, Desk(app, os.cpu_count() or 1))
    except OSError as error:
        raise click.ClickException(f"can't listen on {host}:{port}: {error.strerror}; choose another --port") from None


class Supervisor:
    """Redis and worker processes, started, kept alive and stopped in the right order."""

    def __init__(self, folder: Path, workers: int) -> None:
        """Take ``workers`` of any plan, and two kept back: for interactive requests, and for newcomers."""
        given = os.environ.get(URL_VARIABLE)
        self._redis = None if given else LocalRedis(folder)
        self._given = given
        self._folder = folder
        kept_back = ("--interactive", "--newcomers")
        self._wanted = [("--die-with-parent",)] * workers + [("--die-with-parent", kind) for kind in kept_back]
        self._workers: dict[int, subprocess.Popen[bytes]] = {}
        self._last_start = self._last_redis = -inf

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
        if self._redis:
            self._tend_redis(self._redis)
        self._workers = {place: worker for place, worker in self._workers.items() if worker.poll() is None}
        if len(self._workers) < len(self._wanted) and time.monotonic() - self._last_start > _BREATH:
            log.error("a worker died; starting another")
            try:
                self._fill_up()
            except OSError as error:
                log.error("no worker can be started: %s", error.strerror)  # noqa: TRY400 - the words say it

    def _tend_redis(self, redis: LocalRedis) -> None:
        """Start it again where it died, and go on serving: until it answers, requests are told to come back."""
        now = time.monotonic()
        if now - self._last_redis <= _BREATH:
            return
        if redis.alive():
            # one that still loads what it keeps may take its time to say so, and nobody is served meanwhile
            if not redis.serves():
                self._last_redis = now
        else:
            self._last_redis = now
            log.error("%s; starting it again", "the Redis server died" if redis.serves() else redis.why())
            try:
                redis.begin()
            except (NoRedis, OSError) as error:
                log.error("it can't be started: %s", error)  # noqa: TRY400 - the words say it

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
