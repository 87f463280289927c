"""What is being typed, kept until it is planned: fields as a browser sent them, with a title to tell them apart."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any, cast

from redis import Redis

from workers import PREFIX
from workers.codec import Unreadable, pack, reading, unpack

KEPT_SECONDS = 7 * 24 * 3600
MOST = 50
"""Drafts of one client; the oldest make room."""
TOKEN = re.compile(r"[\w-]{8,64}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Draft:
    """A form half filled in: its way in, its title, when it was typed, and its fields; ``planned`` once it is."""

    token: str
    way: str
    title: str
    typed_at: datetime
    fields: dict[str, str]
    planned: bool = False


class Drafts:
    """The drafts of every client in Redis."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis

    def keep(self, client: str, draft: Draft) -> None:
        """Keep a draft in place of what was typed before under its token."""
        if not TOKEN.fullmatch(draft.token):
            return
        listed, score = _list_of(client), draft.typed_at.timestamp()
        with self._redis.pipeline() as pipe:
            pipe.set(_name(client, draft.token), pack(draft), ex=KEPT_SECONDS)
            pipe.zadd(listed, {draft.token: score})
            pipe.expire(listed, KEPT_SECONDS)
            pipe.zrange(listed, 0, -MOST - 1)
            pipe.zremrangebyrank(listed, 0, -MOST - 1)
            too_many = cast("list[bytes]", pipe.execute()[3])
        if too_many:
            self._redis.delete(*(_name(client, token.decode(errors="replace")) for token in too_many))

    def fetch(self, client: str, token: str) -> Draft | None:
        """Return a draft, None where there is none, none any more, or one that can't be read."""
        try:
            with reading("a draft"):
                return _read(cast("bytes | None", self._redis.get(_name(client, token))))
        except Unreadable:
            return None

    def unfinished(self, client: str, most: int) -> list[Draft]:
        """Return a client's drafts that were not planned, newest first."""
        try:
            with reading("the list of drafts"):
                tokens = cast("list[bytes]", self._redis.zrevrange(_list_of(client), 0, MOST))
        except Unreadable:
            return []
        names = [_name(client, token.decode(errors="replace")) for token in tokens]
        kept: Any = self._redis.mget(names) if names else []
        return [draft for draft in map(_read, kept) if draft and not draft.planned][:most]

    def drop(self, client: str, token: str) -> None:
        """Throw a draft away."""
        self._redis.delete(_name(client, token))
        self._redis.zrem(_list_of(client), token)


def now() -> datetime:
    """Return the moment that a draft is typed at."""
    return datetime.now(UTC)


def _read(kept: bytes | None) -> Draft | None:
    try:
        return unpack(kept, Draft) if kept else None
    except Unreadable:
        return None


def _list_of(client: str) -> str:
    return f"{PREFIX}drafts:{sha256(client.encode()).hexdigest()}"


def _name(client: str, token: str) -> str:
    return f"{PREFIX}draft:{sha256(client.encode() + bytes(1) + token.encode()).hexdigest()}"
