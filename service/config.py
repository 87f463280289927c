"""Settings of the service, from ``LAPSTOCK_…`` environment variables."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from workers.connection import redis_url


@dataclass(frozen=True, slots=True)
class Config:
    """How this service runs.

    ``api_keys`` maps the SHA-256 (hex) of a key to the client it is for; without any, everybody is one
    client. ``rate`` is requests to plan per client and minute; ``most_waiting`` is how many plans may wait
    before new ones are turned away; ``longest_wait`` caps ``Prefer: wait``. ``hosts`` are the names this
    server answers to, all if there are none.
    """

    redis_url: str
    api_keys: Mapping[str, str] = field(default_factory=dict)
    most_bytes: int = 1024 * 1024
    most_waiting: int = 1_000
    rate: int = 600
    longest_wait: float = 30
    most_waiters: int = 24
    result_days: int = 30
    hosts: Sequence[str] = ()

    @classmethod
    def from_environment(cls, given_url: str | None = None) -> Config:
        """Return the settings of the environment. Raises ``NoAddress`` where no Redis is named."""
        hosts = os.environ.get("LAPSTOCK_HOSTS", "").split()
        given = {name: int(value) for name in _NUMBERS if (value := os.environ.get(f"LAPSTOCK_{name.upper()}"))}
        keys = _keys(os.environ.get("LAPSTOCK_API_KEYS", ""))
        return cls(given_url or redis_url(), keys, hosts=hosts, **given)


_NUMBERS = ("most_bytes", "most_waiting", "rate", "result_days")


def _keys(text: str) -> dict[str, str]:
    """Read ``client=sha256,client=sha256``."""
    pairs = (entry.split("=", 1) for entry in text.replace("\n", ",").split(",") if entry.strip())
    return {digest.strip().lower(): client.strip() for client, digest in pairs}
