"""The WSGI server: buffers slow clients, answers broken requests in problem details, drops nothing when it stops."""

from __future__ import annotations

import json
import logging
import socket
import time
from collections.abc import Callable
from contextlib import AbstractContextManager, ExitStack
from http import HTTPStatus
from threading import Lock
from typing import Any

from flask import Flask, Response
from waitress import wasyncore
from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import create_server
from waitress.task import ErrorTask, WSGITask

from service.cli.desk import Desk
from service.http.problems import CONTENT_TYPE, too_large
from service.http.tracing import HEADER, new_request_id
from service.http.waiting import DESK, SEAT, Held, More
from service.state import WAITING_THREADS, Service

THREADS = WAITING_THREADS + 8
"""Threads that answer requests. Who waits for a plan holds none."""
log = logging.getLogger(__name__)
CONNECTIONS = 1_000
"""Connections beside those of whoever waits for a plan."""
BUFFERED = 8
"""Bodies up to so many times the limit are received, so that their senders hear the answer and no broken pipe."""
LOOK_SECONDS = 0.25
"""How often the loop looks up from its sockets."""
LOST_SECONDS = 5
"""How often a request that is held is looked at without news: what a lost notice costs."""
RECEIVE_SECONDS = 120
"""Who has not sent a whole request by then makes room for others, however often a byte still comes."""
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


class _Seats:
    """The seats of requests that are held, each until there may be news for it or it is due to be looked at."""

    def __init__(self, most: int) -> None:
        self.lock = Lock()
        self.held: set[_Seat] = set()
        self._most = most

    @property
    def free(self) -> bool:
        """Whether another request may be held."""
        return len(self.held) < self._most

    def wake(self, *, all_of_them: bool = False) -> None:
        """Wake whoever is due."""
        now = time.monotonic()
        with self.lock:
            due = [seat for seat in self.held if all_of_them or seat.due <= now]
        for seat in due:
            seat.wake()

    def look_after(self) -> None:
        """Give up the seats of those who have hung up."""
        with self.lock:
            gone = {seat for seat in self.held if seat.hung_up}
            self.held -= gone
        for seat in gone:
            seat.give_up()


class _Seat:
    """The seat of one request (``service.http.waiting.Seat``), which came over ``channel``."""

    def __init__(self, seats: _Seats, channel: Any) -> None:  # noqa: ANN401
        self.resume: Callable[[], Response] | None = None
        self.more: More | None = None
        self.due = 0.0
        self._until = 0.0
        self._seats, self._channel = seats, channel
        self._news = False
        self._notices = ExitStack()

    def take(self, notices: AbstractContextManager[object], until: float) -> None:
        """Have the request held until there is news or the time is over; ``notices`` are left with the seat."""
        self._until = until
        self._notices.enter_context(notices)

    def wake(self) -> None:
        """Have the app called again, or note the news for a thread that is at it."""
        with self._seats.lock:
            held = self in self._seats.held
            self._seats.held.discard(self)
            # a thread is at it: whether it still sees the news is not known
            self._news = not held
        if held:
            self._again()

    def _again(self) -> None:
        """Have a thread call the app for it once more."""
        self._channel.server.add_task(self._channel)

    @property
    def hung_up(self) -> bool:
        """Whether whoever asked has closed the connection; the server reads no more of it while it is held."""
        try:
            return not self._channel.socket.recv(1, socket.MSG_PEEK | socket.MSG_DONTWAIT)
        except BlockingIOError:
            return False
        except OSError:
            return True

    def give_up(self) -> None:
        """Answer nobody, and close the connection."""
        self.leave()
        for request in self._channel.requests:
            request.close()
        self._channel.handle_close()

    def hold(self) -> None:
        """Keep the request, now that no thread is at it, unless there was news meanwhile."""
        with self._seats.lock:
            again, self._news = self._news, False
            self.due = min(self._until, time.monotonic() + LOST_SECONDS)
            if not again:
                self._seats.held.add(self)
        if again:
            self._again()

    def leave(self) -> None:
        """Be done with it: the request was answered, or whoever made it is gone."""
        self._notices.close()


class _Request(HTTPRequestParser):
    seat: _Seat | None = None
    begun: WSGITask | None = None

    def __init__(self, adj: Any) -> None:  # noqa: ANN401
        super().__init__(adj)
        self.came_at = time.monotonic()


class _Task(WSGITask):
    def execute(self) -> None:
        """Have the app answer; of an answer that is sent by and by, send what there is, and hold the request again."""
        request: Any = self.request
        if request.begun is None:
            super().execute()
        if request.seat and request.seat.more:
            request.begun = self
            text, over = request.seat.more()
            self.write(text.encode())
            if not over:
                raise Held

    def get_environment(self) -> dict[str, Any]:
        """Have the app find the request's seat, which it has already or may take."""
        channel: Any = self.channel
        request: Any = self.request
        environ: dict[str, Any] = super().get_environment()
        if request.seat is None and channel.server.seats.free:
            request.seat = _Seat(channel.server.seats, channel)
        if request.seat:
            environ[SEAT] = request.seat
        if channel.server.desk:
            environ[DESK] = channel.server.desk
        return environ


def _task_of(channel: HTTPChannel, request: Any) -> WSGITask:  # noqa: ANN401 - our own kind of request
    """Return the task of a request: the one that has begun to send its answer, if there is one."""
    return request.begun or _Task(channel, request)


class _Channel(HTTPChannel):
    task_class = staticmethod(_task_of)  # type: ignore[assignment] # whatever returns a task
    error_task_class = _ProblemTask
    parser_class = _Request

    def service(self) -> None:
        """Have the app answer a request; one that is held keeps its place before those that came after it."""
        request: Any = self.requests[0]
        try:
            super().service()
        except Held:
            request.seat.hold()
        else:
            if request.seat:
                request.seat.leave()


class ApiServer:
    """Serves an app on a host and port. Raises OSError where the port is taken.

    With a ``desk``, answers that take long are made there.
    """

    def __init__(self, app: Flask, host: str, port: int, desk: Desk | None = None) -> None:
        self._service: Service = app.extensions["lapstock"]
        self._looked = 0.0
        address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][4][0]
        server: Any = create_server(
            app,
            host=address,
            port=port,
            threads=THREADS,
            ident="",
            connection_limit=CONNECTIONS + self._service.config.most_waiters,
            channel_timeout=60,
            max_request_header_size=32 * 1024,
            # the app refuses bodies beyond its own limit, in words; this one only keeps the disk from filling
            max_request_body_size=BUFFERED * self._service.config.most_bytes,
            asyncore_use_poll=True,
            # what a proxy says of its own connection is for the app, which believes as many as there are
            clear_untrusted_proxy_headers=not self._service.config.proxies,
        )
        server.channel_class = _Channel
        server.seats = self._seats = _Seats(self._service.config.most_waiters)
        server.desk = self._desk = desk
        self._server = server

    @property
    def port(self) -> int:
        """The port served on."""
        return int(self._server.effective_port)

    @property
    def held(self) -> int:
        """How many requests are held."""
        return len(self._seats.held)

    def serve(self, stopped: Callable[[], bool], tend: Callable[[], None] = lambda: None) -> None:
        """Serve until ``stopped``, calling ``tend`` a few times a second; then answer what is being answered."""
        while not stopped():
            self._turn()
            tend()
        self._drain()

    def _turn(self) -> None:
        self._seats.wake()
        self._let_go()
        wasyncore.loop(timeout=LOOK_SECONDS, map=self._server._map, use_poll=True, count=1)  # noqa: SLF001

    def _let_go(self) -> None:
        now = time.monotonic()
        if now - self._looked < LOOK_SECONDS:
            return
        self._looked = now
        self._seats.look_after()
        for channel in list(self._server.active_channels.values()):
            if channel.request and now - channel.request.came_at > RECEIVE_SECONDS:
                log.info("a request that did not come to its end in %d s is let go of", RECEIVE_SECONDS)
                channel.handle_close()

    def _drain(self) -> None:
        self._service.stopping.set()
        self._seats.wake(all_of_them=True)
        self._server.accepting = False
        until = time.monotonic() + DRAIN_SECONDS
        while self._busy() and time.monotonic() < until:
            self._turn()
        self._server.task_dispatcher.shutdown(timeout=1)
        wasyncore.close_all(self._server._map)  # noqa: SLF001
        if self._desk:
            self._desk.close()

    def _busy(self) -> bool:
        channels = list(self._server.active_channels.values())
        return any(channel.requests or channel.total_outbufs_len for channel in channels)
