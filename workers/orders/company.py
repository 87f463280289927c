"""Whose orders these are: what stands at the head and the foot of a client's sheets, and how it sells.

Beside it, how each of the client's customers writes lists: the answers to questions about them, kept until they are
forgotten.
"""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from hashlib import sha256
from typing import TYPE_CHECKING, cast

from solver.job import Supplier
from workers import PREFIX
from workers.codec import Unreadable, pack, reading, structured, unpack
from workers.orders.particulars import Handover

if TYPE_CHECKING:
    from redis import Redis

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Company:
    """A client's own settings; what is empty stands nowhere. ``address`` is lines, ``note`` stands below orders.

    ``tax_percent`` is added to the total of an order under ``tax_name``; ``handover`` and ``paper`` are what an order
    and a sheet have where nobody says otherwise; ``ready_days`` working days after it was taken an order from stock
    is ready. ``suppliers`` are those it buys of, for jobs that do not say what they charge.
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
    suppliers: tuple[Supplier, ...] = ()

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


MOST_CUSTOMERS = 10_000
"""Customers of one client; whoever was answered for longest ago is forgotten first."""
log = logging.getLogger(__name__)


class CustomerAnswers:
    """The answers of every client's customers in Redis; a customer is known by name, however it is spaced and cased."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis

    def fetch(self, client: str, customer: str) -> dict[str, str]:
        """Return a customer's answers by notation, none where they can't be read: then one is asked again."""
        try:
            with reading("answers"):
                kept = cast("bytes | None", self._redis.hget(_answers(client), _key(customer)))
                return structured(json.loads(kept), dict[str, str]) if kept else {}
        except Unreadable:
            log.exception("the answers of a customer can't be read")
            return {}

    def put(self, client: str, customer: str, answers: Mapping[str, str]) -> None:
        """Keep a customer's answers in place of those before; without any the customer is forgotten."""
        name, turns = _answers(client), f"{_answers(client)}:turns"
        with self._redis.pipeline() as pipe:
            if answers:
                pipe.hset(name, _key(customer), json.dumps(dict(answers)))
                pipe.zadd(turns, {_key(customer): time.time()})
            else:
                pipe.hdel(name, _key(customer))
                pipe.zrem(turns, _key(customer))
            pipe.hlen(name)
            count = int(pipe.execute()[-1])
        if count > MOST_CUSTOMERS:
            oldest = cast("list[tuple[bytes, float]]", self._redis.zpopmin(turns, count - MOST_CUSTOMERS))
            self._redis.hdel(name, *[customer.decode() for customer, _ in oldest])


def _answers(client: str) -> str:
    return f"{PREFIX}answers:{sha256(client.encode()).hexdigest()}"


def _key(customer: str) -> str:
    return " ".join(customer.casefold().split())
