"""Whose orders these are: what stands at the head and the foot of a client's sheets, and how it sells."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from hashlib import sha256
from typing import cast

from redis import Redis

from workers.codec import pack, reading, unpack
from workers.connection import PREFIX
from workers.orders.particulars import Handover

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Company:
    """A client's own settings; what is empty stands nowhere. ``address`` is lines, ``note`` stands below orders.

    ``tax_percent`` is added to the total of an order under ``tax_name``; ``handover`` and ``paper`` are what an order
    and a sheet have where nobody says otherwise; ``ready_days`` working days after it was taken an order from stock
    is ready.
    """

    name: str = ""
    address: tuple[str, ...] = ()
    phone: str = ""
    email: str = ""
    tax_name: str = "Tax"
    tax_percent: Decimal = Decimal(0)
    note: str = ""
    handover: Handover | None = None
    ready_days: int | None = None
    paper: str | None = None

    def tax_on(self, total: Decimal) -> Decimal:
        """Return the tax on a total, to the cent; half a cent is rounded up (common practice, no source)."""
        return (total * self.tax_percent / 100).quantize(_CENT, ROUND_HALF_UP)


NOBODY = Company()


class Companies:
    """The settings of every client in Redis."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis

    def fetch(self, client: str) -> Company:
        """Return a client's settings. Raises ``Unreadable``."""
        with reading("settings"):
            kept = cast("bytes | None", self._redis.get(_name(client)))
        return unpack(kept, Company) if kept else NOBODY

    def put(self, client: str, company: Company) -> None:
        """Keep a client's settings, for good."""
        self._redis.set(_name(client), pack(company))


def _name(client: str) -> str:
    return f"{PREFIX}company:{sha256(client.encode()).hexdigest()}"
