"""API keys: who may come in and do what. Kept are a key's digest, its name and its scopes, never the key itself.

A key that is revoked stays listed: once there has been a key, nobody comes in without one.
"""

from __future__ import annotations

import hmac
import logging
import secrets
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any, cast

from redis import Redis

from workers import PREFIX
from workers.codec import Unreadable, pack, reading, unpack

KEYS = PREFIX + "keys"
USED = PREFIX + "keys-used"
LOOK = """
-- KEYS: keys, moments of last use
-- ARGV: trace, seconds that a moment is good for
local kept, now = redis.call('HGET', KEYS[1], ARGV[1]), tonumber(redis.call('TIME')[1])
if kept and now - (tonumber(redis.call('HGET', KEYS[2], ARGV[1]) or '') or 0) >= tonumber(ARGV[2]) then
  redis.pcall('HSET', KEYS[2], ARGV[1], now)
end
return {redis.call('HLEN', KEYS[1]), kept}
"""
"""Return how many keys there have been and what is kept of one, and note that it was used, where that can be."""
_USED_EVERY = 60
log = logging.getLogger(__name__)


class Scope(StrEnum):
    """What a key is good for."""

    PLAN = "plan"
    READ = "read"
    CATALOGUE = "catalogue"
    WEEKS = "weeks"


class NameTaken(Exception):
    """Another key that is good has this name."""


@dataclass(frozen=True, slots=True)
class Key:
    """A key: what it is called, whose plans it leads to, what it is good for, since when, and until when."""

    name: str
    client: str
    digest: str
    scopes: tuple[Scope, ...]
    made_at: datetime
    revoked_at: datetime | None = None

    @property
    def trace(self) -> str:
        """What tells this key from others, and is no way to it."""
        return _trace(self.digest)


class Keys:
    """The keys in Redis."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis
        self._look = redis.register_script(LOOK)

    def add(self, name: str, client: str, scopes: tuple[Scope, ...]) -> str:
        """Make a key and return it, which is the only time that it is seen. Raises ``NameTaken``."""
        if any(key.name == name and key.revoked_at is None for key, _ in self.listed()):
            raise NameTaken(name)
        made = secrets.token_urlsafe(32)
        key = Key(name, client, digest_of(made), scopes, datetime.now(UTC))
        self._redis.hset(KEYS, key.trace, cast("Any", pack(key)))
        return made

    def revoke(self, name: str) -> bool:
        """Have the key of this name be good for nothing from now on, and return whether there was one."""
        found = [key for key, _ in self.listed() if key.name == name and key.revoked_at is None]
        for key in found:
            self._redis.hset(KEYS, key.trace, cast("Any", pack(replace(key, revoked_at=datetime.now(UTC)))))
        return bool(found)

    def listed(self) -> list[tuple[Key, datetime | None]]:
        """Return every key there has been, oldest first, with when it was last used; what can't be read is none."""
        kept = cast("dict[bytes, bytes]", self._redis.hgetall(KEYS))
        used = cast("dict[bytes, bytes]", self._redis.hgetall(USED))
        keys = sorted(filter(None, map(_key, kept.values())), key=lambda key: key.made_at)
        return [(key, _moment(used.get(key.trace.encode(), b""))) for key in keys]

    def exist(self) -> bool:
        """Whether there has ever been a key."""
        return bool(self._redis.exists(KEYS))

    def look(self, trace: str) -> tuple[bool, Key | None]:
        """Return whether there has ever been a key, and the one of a trace where it is good."""
        try:
            with reading("keys"):
                count, kept = cast("tuple[int, bytes | None]", self._look(keys=[KEYS, USED], args=[trace, _USED_EVERY]))
        except Unreadable:
            log.exception("what is kept of API keys can't be read, so that nobody is let in")
            return True, None
        key = _key(kept) if kept else None
        return bool(count), key if key and key.revoked_at is None else None

    def look_for(self, given: str) -> tuple[bool, Key | None]:
        """Return whether there has ever been a key, and the one that was given where it is good."""
        digest = digest_of(given)
        keyed, key = self.look(_trace(digest))
        return keyed, key if key and hmac.compare_digest(key.digest, digest) else None


def digest_of(given: str) -> str:
    """Return what is kept of a key."""
    return sha256(given.strip().encode(errors="replace")).hexdigest()


def _key(kept: bytes) -> Key | None:
    try:
        return unpack(kept, Key)
    except Unreadable:
        log.exception("what is kept of an API key can't be read")
        return None


def _moment(kept: bytes) -> datetime | None:
    return datetime.fromtimestamp(int(kept), UTC) if kept.isdigit() else None


def _trace(digest: str) -> str:
    return sha256(digest.encode()).hexdigest()[:16]
