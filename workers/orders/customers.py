"""How each customer of a client writes lists: the answers to questions about them, kept until they are forgotten."""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Mapping
from hashlib import sha256
from typing import cast

from redis import Redis

from workers.codec import Unreadable, reading, structured
from workers.connection import PREFIX

MOST = 10_000
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
                kept = cast("bytes | None", self._redis.hget(_name(client), _key(customer)))
                return structured(json.loads(kept), dict[str, str]) if kept else {}
        except Unreadable:
            log.exception("the answers of a customer can't be read")
            return {}

    def put(self, client: str, customer: str, answers: Mapping[str, str]) -> None:
        """Keep a customer's answers in place of those before; without any the customer is forgotten."""
        name, turns = _name(client), f"{_name(client)}:turns"
        with self._redis.pipeline() as pipe:
            if answers:
                pipe.hset(name, _key(customer), json.dumps(dict(answers)))
                pipe.zadd(turns, {_key(customer): time.time()})
            else:
                pipe.hdel(name, _key(customer))
                pipe.zrem(turns, _key(customer))
            pipe.hlen(name)
            count = int(pipe.execute()[-1])
        if count > MOST:
            oldest = cast("list[tuple[bytes, float]]", self._redis.zpopmin(turns, count - MOST))
            self._redis.hdel(name, *[customer.decode() for customer, _ in oldest])


def _name(client: str) -> str:
    return f"{PREFIX}answers:{sha256(client.encode()).hexdigest()}"


def _key(customer: str) -> str:
    return " ".join(customer.casefold().split())
