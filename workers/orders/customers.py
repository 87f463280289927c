"""How each customer of a client writes lists: the answers to questions about them, kept until they are forgotten."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from hashlib import sha256
from typing import cast

from redis import Redis

from workers.codec import Unreadable, reading, structured
from workers.connection import PREFIX

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
        if answers:
            self._redis.hset(_name(client), _key(customer), json.dumps(dict(answers)))
        else:
            self._redis.hdel(_name(client), _key(customer))


def _name(client: str) -> str:
    return f"{PREFIX}answers:{sha256(client.encode()).hexdigest()}"


def _key(customer: str) -> str:
    return " ".join(customer.casefold().split())
