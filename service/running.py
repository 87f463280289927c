"""Serving: the API alone, or with everything it needs on this machine."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

import click

from service.config import BadSetting, Config
from service.supervisor import Supervisor
from workers.connection import NoAddress, NoAnswer, require_answer
from workers.local_redis import NoFolder, NoRedis

if TYPE_CHECKING:
    from service.server import ApiServer

LOOPBACK = ("127.0.0.1", "localhost", "::1", "[::1]")
"""Names of this machine, for itself alone."""
_NOT_YET = "unix:"
"""In the place of the address of a Redis that is still to be started."""


def serve_all(host: str, port: int, folder: Path, workers: int, stopped: Event) -> None:
    """Serve until stopped. Raises ``ClickException`` where Redis, the folder or the port can't be had."""
    try:
        config = Config.from_environment(_NOT_YET)
        supervisor = Supervisor(folder, workers)
        supervisor.start()
    except (NoRedis, NoFolder, NoAnswer, BadSetting) as error:
        raise click.ClickException(str(error)) from None
    try:
        config = replace(config, redis_url=supervisor.url)
        # a page elsewhere whose name is made to lead here must not get to use a server that is for this machine
        config = replace(config, hosts=config.hosts or LOOPBACK) if host in LOOPBACK else config
        server = _server(config, host, port)
        _warn_of_strangers(config, host)
        hands = f"{workers} worker{'s' * (workers > 1)} plus one for interactive requests"
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
    except (NoAddress, NoAnswer, BadSetting) as error:
        raise click.ClickException(str(error)) from None
    server = _server(config, host, port)
    _warn_of_strangers(config, host)
    click.echo(f"lapstock serves http://{host}:{server.port}/")
    server.serve(stopped.is_set)


def _warn_of_strangers(config: Config, host: str) -> None:
    """Say so where others than this machine can use the server, and nobody is asked who they are."""
    if host not in LOOPBACK and not config.api_keys:
        click.echo(
            f"warning: whoever reaches {host} may use this server, for LAPSTOCK_API_KEYS is not set; "
            "lapstock key NAME makes a key",
            err=True,
        )


def _server(config: Config, host: str, port: int) -> ApiServer:
    # imported here, so that Redis and the workers start meanwhile, and what is wrong with them is told at once
    from service.app import create_app  # noqa: PLC0415
    from service.server import ApiServer  # noqa: PLC0415

    try:
        return ApiServer(create_app(config), host, port)
    except OSError as error:
        raise click.ClickException(f"can't listen on {host}:{port}: {error.strerror}; choose another --port") from None
