"""What every request can reach: settings from ``LAPSTOCK_…`` environment variables, the store, who is kept waiting."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, fields
from threading import BoundedSemaphore, Event, Lock
from typing import cast

from flask import current_app

from workers.callbacks import Rules
from workers.connection import redis_url
from workers.notices import Notices
from workers.plans.store import Store
from workers.process import BadSetting, whole_number

_NUMBERS = ("most_bytes", "most_waiting", "most_waiters", "rate", "result_days", "proxies", "replicas")
WAITING_THREADS = 8
"""Threads in which somebody may wait: at pages for a moment, elsewhere where the server can't hold a request."""
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Config:
    """How this service runs.

    ``api_keys`` maps the SHA-256 (hex) of a key to the client it is for; without any, everybody is one
    client. ``most_bytes`` of a body leave room for as many lines as a request may have, each with its ends, a mark, a
    reference, and stretches to keep clear. ``rate`` is requests to plan per client and minute; ``most_waiting`` is how
    many of a client's plans may wait before more are turned away; ``longest_wait`` caps ``Prefer: wait``, and
    ``most_waiters`` is how many may wait so at a time: each holds a connection. ``hosts`` are the names this server
    answers to, all if there are none. ``proxies`` is how many stand in front, each of which says in
    ``X-Forwarded-Proto`` how it was spoken to: 0 believes nobody. A plan is acknowledged
    once so many ``replicas`` have it. ``callbacks`` says who may be called back.
    """

    redis_url: str
    api_keys: Mapping[str, str] = field(default_factory=dict)
    most_bytes: int = 4 * 1024 * 1024
    most_waiting: int = 1_000
    rate: int = 600
    longest_wait: float = 30
    most_waiters: int = 500
    result_days: int = 30
    hosts: Sequence[str] = ()
    proxies: int = 0
    replicas: int = 0
    callbacks: Rules = field(default_factory=Rules)

    @classmethod
    def from_environment(cls, given_url: str | None = None) -> Config:
        """Return the settings of the environment.

        Raises ``NoAddress`` where no Redis is named, and ``BadSetting``.
        """
        hosts = os.environ.get("LAPSTOCK_HOSTS", "").split()
        numbers = [(each.name, cast("int", each.default)) for each in fields(cls) if each.name in _NUMBERS]
        given = {name: whole_number(f"LAPSTOCK_{name.upper()}", default) for name, default in numbers}
        keys = _keys(os.environ.get("LAPSTOCK_API_KEYS", ""))
        return cls(given_url or redis_url(), keys, hosts=hosts, callbacks=Rules.from_environment(), **given)


def _keys(text: str) -> dict[str, str]:
    """Read ``client=sha256,client=sha256``. Raises ``BadSetting``."""
    pairs = [entry.partition("=") for entry in text.replace("\n", ",").split(",") if entry.strip()]
    keys = {digest.strip().lower(): client.strip() for client, _, digest in pairs}
    if not all(client and _DIGEST.fullmatch(digest) for digest, client in keys.items()):
        raise BadSetting("LAPSTOCK_API_KEYS", "CLIENT=DIGEST, the SHA-256 of a key as hex, with commas between")
    return keys


class TooMany(Exception):
    """A client follows as many plans as one may."""


class Followers:
    """Who follows plans just now: ``MOST_EACH`` times one client at most."""

    MOST_EACH = 8

    def __init__(self) -> None:
        self._lock = Lock()
        self._now: Counter[str] = Counter()

    @contextmanager
    def one_more(self, client: str) -> Iterator[None]:
        """Count one while the block lasts. Raises ``TooMany``."""
        with self._lock:
            if self._now[client] >= self.MOST_EACH:
                raise TooMany
            self._now[client] += 1
        try:
            yield
        finally:
            with self._lock:
                self._now -= Counter([client])


class Service:
    """The settings and the store of one app.

    ``waiters`` are the threads in which somebody may wait; ``notices`` wakes those who wait, ``stopping`` sends them
    away.
    """

    def __init__(self, config: Config, store: Store) -> None:
        self.config = config
        self.store = store
        self.stopping = Event()
        self.waiters = BoundedSemaphore(min(config.most_waiters, WAITING_THREADS))
        self.notices = Notices(store.redis)
        self.followers = Followers()


def service() -> Service:
    """Return the current app's service."""
    return cast("Service", current_app.extensions["lapstock"])


def store() -> Store:
    """Return the current app's store."""
    return service().store
