"""The desk: answers that take long to make are made in processes beside the server, so that nobody else waits for them.

It is forked before the server has threads, by a process that forks another where it dies, and forks a process for each
errand. That calls the same app for the same request, sends the answer back and ends: what it took of memory or time, or
how it failed, harms that answer alone.
"""

from __future__ import annotations

import json
import logging
import os
import signal
import socket
import sys
import time
from collections.abc import Mapping
from contextlib import suppress
from importlib import import_module
from io import BytesIO
from threading import Lock
from typing import Any, NoReturn

from flask import Flask, Response

from service.documents.lettering import ready
from service.http.waiting import AT_DESK
from workers.process import die_with_parent, limit_memory

PATIENCE_SECONDS = 120
"""An errand that takes longer is given up."""
_BREATH = 0.5
"""Seconds until another desk takes the place of one that died."""
_KEPT = ("PATH_INFO", "SCRIPT_NAME", "QUERY_STRING", "SERVER_NAME", "SERVER_PORT", "SERVER_PROTOCOL", "REMOTE_ADDR",
         "wsgi.url_scheme", "HTTP_HOST", "HTTP_AUTHORIZATION", "HTTP_COOKIE", "HTTP_X_FORWARDED_PROTO")  # fmt: skip
"""What of a request the desk is told: whose it is and what of, and no conditions."""
_WITH_BODY = (*_KEPT, "REQUEST_METHOD", "CONTENT_TYPE", "CONTENT_LENGTH", "HTTP_CONTENT_ENCODING", "HTTP_ORIGIN",
              "HTTP_SEC_FETCH_SITE")  # fmt: skip
log = logging.getLogger(__name__)


class Desk:
    """Has a request answered by another process; ``most`` at a time."""

    def __init__(self, app: Flask, most: int) -> None:
        """Fork it; this process must have no threads yet."""
        self._most, self._busy, self._lock = most, 0, Lock()
        self._socket, orders = socket.socketpair()
        parent = os.getpid()
        self.pid = os.fork()
        if self.pid == 0:
            self._socket.close()
            _keep(app, orders, parent)
        orders.close()

    def take(self) -> bool:
        """Take one of its places, if one is free; ``answer`` gives it back."""
        with self._lock:
            free = self._busy < self._most
            self._busy += free
        return free

    def answer(self, environ: Mapping[str, Any], body: bytes = b"") -> Response | None:
        """Return the answer to a request, None where the desk is no more. Raises ``RuntimeError`` where it fails."""
        told = _WITH_BODY if environ["REQUEST_METHOD"] == "POST" else _KEPT
        asked = json.dumps({name: environ[name] for name in told if name in environ}).encode() + b"\n" + body
        try:
            return self._answer(asked)
        except ConnectionError:
            # nobody has read it: the desk died that moment, and another takes its place
            return self._answer(asked)
        finally:
            with self._lock:
                self._busy -= 1

    def _answer(self, asked: bytes) -> Response | None:
        ours, theirs = socket.socketpair()
        with ours:
            ours.settimeout(PATIENCE_SECONDS)
            with theirs:
                try:
                    socket.send_fds(self._socket, [b"."], [theirs.fileno()])
                except OSError:
                    log.exception("there is no desk any more")
                    return None
            ours.sendall(asked)
            ours.shutdown(socket.SHUT_WR)
            with ours.makefile("rb") as told:
                head, body = told.readline(), told.read()
        if not head:
            raise RuntimeError("an errand came back with nothing")
        status, headers = json.loads(head)
        return Response(body, status, [(name, value) for name, value in headers])

    def close(self) -> None:
        """Send it home."""
        self._socket.close()
        with suppress(ChildProcessError):
            os.waitpid(self.pid, 0)


def _keep(app: Flask, orders: socket.socket, parent: int) -> NoReturn:
    """Have a desk, and another where that dies: the server has threads by now and can't fork one any more."""
    try:
        for told in (signal.SIGINT, signal.SIGTERM):
            signal.signal(told, signal.SIG_IGN)
        die_with_parent()
        while os.getppid() == parent:
            desk = os.fork()
            if desk == 0:
                _work(app, orders)
            if os.waitpid(desk, 0)[1] == 0:
                break
            log.error("the desk died; starting another")
            time.sleep(_BREATH)
    finally:
        os._exit(0)


def _work(app: Flask, orders: socket.socket) -> NoReturn:
    """Be the desk: fork a process for each errand until the server has closed."""
    ended = 1
    try:
        die_with_parent()
        while True:
            read, places, *_ = socket.recv_fds(orders, 1, 1)
            if not read:
                ended = 0
                break
            # loaded here once, and not by each errand anew
            import_module("service.documents.pdf")
            ready()
            _lay_to_rest()
            if os.fork() == 0:
                orders.close()
                _run(app, socket.socket(fileno=places[0]))
            os.close(places[0])
    except BaseException:
        log.exception("the desk fails")
    finally:
        os._exit(ended)


def _lay_to_rest() -> None:
    with suppress(ChildProcessError):
        while os.waitpid(-1, os.WNOHANG)[0]:
            pass


def _run(app: Flask, place: socket.socket) -> NoReturn:
    """Be an errand."""
    try:
        die_with_parent()
        limit_memory()
        signal.alarm(PATIENCE_SECONDS)
        # the request is in the log already, where it came in
        logging.disable(logging.INFO)
        with place.makefile("rb") as told:
            asked, body = json.loads(told.readline()), told.read()
        place.sendall(_answered(app, asked, body))
    except BaseException:
        log.exception("an errand failed")
    finally:
        os._exit(0)


def _answered(app: Flask, asked: Mapping[str, str], given: bytes) -> bytes:
    begun: list[Any] = []
    environ = {
        # of an answer to HEAD nothing but the head would come, and it is kept for whoever asks for all of it
        "REQUEST_METHOD": "GET", **asked, AT_DESK: True,
        "wsgi.version": (1, 0), "wsgi.input": BytesIO(given), "wsgi.errors": sys.stderr,
        "wsgi.multithread": False, "wsgi.multiprocess": True, "wsgi.run_once": True,
    }  # fmt: skip

    def start(status: str, headers: list[tuple[str, str]], *_: object) -> None:
        begun[:] = [status, headers]

    body = b"".join(app(environ, start))  # type: ignore[arg-type]
    return json.dumps(begun).encode() + b"\n" + body
