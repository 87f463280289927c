"""A child forked ahead of the jobs that it runs, one after another, so that none waits for a process of its own.

What a job does to its process by memory, abort or time harms that job alone: the process ends, and the next job gets
another. So does a job after which a process is not known to be as good as before.
"""

from __future__ import annotations

import logging
import os
import random
import resource
import signal
import socket
from collections.abc import Callable
from contextlib import suppress
from typing import NoReturn

from workers.process import die_with_parent, limit_memory, peak_memory_mb

MOST_JOBS = 50
"""A child that has run so many jobs is replaced."""
MOST_MEMORY_MB = 600
"""A child that ever held so much is replaced: what it keeps of that, its next job could not have."""
Ended = tuple[int | None, int | None, resource.struct_rusage | None]
"""A process, its exit status and what it used, as ``os.wait4`` returns them; None where somebody else has asked."""
_DONE = b"."
log = logging.getLogger(__name__)


class Child:
    """A process that runs ``run`` for each order, a line of text, until that returns False or it is to be replaced."""

    def __init__(self, run: Callable[[bytes], bool]) -> None:
        """Fork it, in a process group of its own."""
        self._socket, orders = socket.socketpair()
        parent = os.getpid()
        self.pid = os.fork()
        if self.pid == 0:
            _work_off(orders, self._socket, run, parent)
        orders.close()
        # both of them say so, for either may be first
        with suppress(OSError):
            os.setpgid(self.pid, self.pid)

    def stands(self) -> bool:
        """Whether it is there, with nothing to do; one that is gone is laid to rest."""
        with suppress(BlockingIOError):
            while self._received(socket.MSG_DONTWAIT):
                pass
            self.wait()
            self._socket.close()
            return False
        return True

    def hand(self, order: bytes) -> None:
        """Give it an order; whether it was there to take it, ``wait`` tells."""
        if self.stands():
            with suppress(OSError):
                self._socket.sendall(order + b"\n")

    def wait(self) -> Ended:
        """Wait until the order is carried out or the process is gone; it may be asked again."""
        # looked at and left there: an alarm may interrupt this, and then it is asked again
        if self._received(socket.MSG_PEEK):
            return self.pid, os.EX_OK, None
        with suppress(ChildProcessError):
            return os.wait4(self.pid, 0)
        return None, None, None

    def _received(self, flags: int) -> bytes:
        try:
            return self._socket.recv(1, flags)
        except BlockingIOError:
            raise
        except OSError:
            # it ended with an order unread, or has been laid to rest
            return b""


def _work_off(orders: socket.socket, other_end: socket.socket, run: Callable[[bytes], bool], parent: int) -> NoReturn:
    """Be the child."""
    status = 1
    try:
        other_end.close()
        os.setpgid(0, 0)
        # its parent stops when it is told to and lets this go on; where it must not, the parent kills it
        for told in (signal.SIGINT, signal.SIGTERM):
            signal.signal(told, signal.SIG_IGN)
        die_with_parent()
        limit_memory()
        random.seed()
        if os.getppid() == parent:
            _run_all(orders, run)
        status = os.EX_OK
    except BaseException:
        log.exception("a child ends by a fault")
    finally:
        os._exit(status)


def _run_all(orders: socket.socket, run: Callable[[bytes], bool]) -> None:
    with orders.makefile("rb") as lines:
        for done, line in enumerate(lines, 1):
            if not run(line) or done == MOST_JOBS or peak_memory_mb() > MOST_MEMORY_MB:
                return
            orders.sendall(_DONE)
