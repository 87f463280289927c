"""What every request can reach: the settings, the store, and how many are being kept waiting."""

from __future__ import annotations

from threading import BoundedSemaphore, Event
from typing import cast

from flask import current_app

from service.config import Config
from workers.store import Store


class Service:
    """The settings and the store of one app.

    ``waiters`` keeps some threads free of ``Prefer: wait``; ``stopping`` sends those who wait away.
    """

    def __init__(self, config: Config, store: Store) -> None:
        self.config = config
        self.store = store
        self.stopping = Event()
        self.waiters = BoundedSemaphore(config.most_waiters)


def service() -> Service:
    """Return the current app's service."""
    return cast("Service", current_app.extensions["lapstock"])


def store() -> Store:
    """Return the current app's store."""
    return service().store
