"""The WSGI server: buffers slow clients, answers broken requests in problem details, drops nothing when it stops."""

from __future__ import annotations

import json
import logging
import socket
import time
from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from flask import Flask
from waitress import wasyncore
from waitress.channel import HTTPChannel
from waitress.server import create_server
from waitress.task import ErrorTask

from service.http.problems import CONTENT_TYPE, too_large
from service.http.tracing import HEADER, new_request_id
from service.state import Service

SPARE_THREADS = 8
"""Threads beside those that wait for a plan."""
log = logging.getLogger(__name__)
BUFFERED = 8
"""Bodies up to so many times the limit are received, so that their senders hear the answer and no broken pipe."""
LOOK_SECONDS = 0.25
"""How often the loop looks up from its sockets."""
DRAIN_SECONDS = 10
"""How long requests that are being answered may take once the server is told to stop."""


class _ProblemTask(ErrorTask):
    """Answers what is no proper HTTP request, before it reaches the app."""

    def execute(self) -> None:
        """Write the parser's complaint as a problem document."""
        request: Any = self.request
        headers: Any = self.response_headers
        error = request.error
        told = {"type": "about:blank", "title": error.reason, "status": error.code, "detail": str(error.body)}
        if error.code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
            told |= too_large(self.channel.server.adj.max_request_body_size // BUFFERED).body()
        number = new_request_id()
        log.info("%s refused before it was read: %d", number, error.code)
        body = json.dumps(told).encode()
        self.status = f"{error.code} {error.reason}"
        headers.append(("Content-Type", CONTENT_TYPE))
        headers.append((HEADER, number))
        self.set_close_on_finish()
        self.content_length = len(body)
        self.write(body)


class _Channel(HTTPChannel):
    error_task_class = _ProblemTask


class ApiServer:
    """Serves an app on a host and port. Raises OSError where the port is taken."""

    def __init__(self, app: Flask, host: str, port: int) -> None:
        self._service: Service = app.extensions["lapstock"]
        address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][4][0]
        server: Any = create_server(
            app,
            host=address,
            port=port,
            threads=self._service.config.most_waiters + SPARE_THREADS,
            ident="",
            connection_limit=1_000,
            channel_timeout=60,
            max_request_header_size=32 * 1024,
            # the app refuses bodies beyond its own limit, in words; this one only keeps the disk from filling
            max_request_body_size=BUFFERED * self._service.config.most_bytes,
            asyncore_use_poll=True,
            # what a proxy says of its own connection is for the app, which believes as many as there are
            clear_untrusted_proxy_headers=not self._service.config.proxies,
        )
        server.channel_class = _Channel
        self._server = server

    @property
    def port(self) -> int:
        """The port served on."""
        return int(self._server.effective_port)

    def serve(self, stopped: Callable[[], bool], tend: Callable[[], None] = lambda: None) -> None:
        """Serve until ``stopped``, calling ``tend`` a few times a second; then answer what is being answered."""
        while not stopped():
            self._turn()
            tend()
        self._drain()

    def _turn(self) -> None:
        wasyncore.loop(timeout=LOOK_SECONDS, map=self._server._map, use_poll=True, count=1)  # noqa: SLF001

    def _drain(self) -> None:
        self._service.stopping.set()
        self._server.accepting = False
        until = time.monotonic() + DRAIN_SECONDS
        while self._busy() and time.monotonic() < until:
            self._turn()
        self._server.task_dispatcher.shutdown(timeout=1)
        wasyncore.close_all(self._server._map)  # noqa: SLF001

    def _busy(self) -> bool:
        channels = list(self._server.active_channels.values())
        return any(channel.requests or channel.total_outbufs_len for channel in channels)
