"""Backup: everything that is kept, read in one piece while it is in use, and put back into a store that is empty.

A backup is lines of JSON: what it is and when it was taken; each thing kept, with the moment at which it expires if it
does; and how many things there are, with a digest of all before, by which a backup that was cut short or changed is
known. It holds values and no files of a server, so that any Redis or Valkey takes it. What workers are at is not in it:
plans that were waiting or being made are found and queued again by the next round.
"""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

from redis import Redis
from redis.client import Pipeline

from workers import PREFIX
from workers.plans.record import this_version
from workers.reaper import living_workers

FORMAT = 1
"""The format of a backup: it grows where a later version writes what an earlier one would read wrongly."""
_PASSING = ("workers", "watch", "watched", "nights", "queue:", "turns:", "busy:", "probe", "replicated", "week-lease:",
            "waiting-of:")  # fmt: skip
"""Names, or beginnings of names, of what tells who works and what at: it is over with them."""
_PASSING_ENDS = tuple(PREFIX + name for name in _PASSING)

READ = """
-- ARGV: beginning of names, then beginnings of what is passed over
local found = {}
local read = {
  string = function(name) return {redis.call('GET', name)} end,
  hash = function(name) return redis.call('HGETALL', name) end,
  list = function(name) return redis.call('LRANGE', name, 0, -1) end,
  set = function(name) return redis.call('SMEMBERS', name) end,
  zset = function(name) return redis.call('ZRANGE', name, 0, -1, 'WITHSCORES') end,
}
local function passing(name)
  for n = 2, #ARGV do if name:sub(1, #ARGV[n]) == ARGV[n] then return true end end
end
for _, name in ipairs(redis.call('KEYS', ARGV[1] .. '*')) do
  local kind = redis.call('TYPE', name).ok
  if read[kind] and not passing(name) then
    found[#found + 1] = {name, kind, redis.call('PEXPIRETIME', name), read[kind](name)}
  end
end
return found
"""
"""Return all that is kept: name, kind, when it expires in milliseconds since 1970, below 0 for never, and its parts."""


class NoBackup(Exception):
    """What was given is no backup, or not whole."""


class NotEmpty(Exception):
    """There is something in the store, which a restore would replace."""


class InUse(Exception):
    """Workers are at work on the store."""


def lines_of(redis: Redis) -> Iterator[bytes]:
    """Yield a backup of everything as it is at this moment, line by line; nothing else is served while it is read."""
    found: Any = redis.eval(READ, 0, PREFIX, *_PASSING_ENDS)
    digest = sha256()
    head = {"backup": "lapstock", "format": FORMAT, "version": this_version(), "at": f"{datetime.now(UTC):%FT%TZ}"}
    for told in (head, *(_told(*entry) for entry in found)):
        line = json.dumps(told).encode() + b"\n"
        digest.update(line)
        yield line
    yield json.dumps({"things": len(found), "sha256": digest.hexdigest()}).encode() + b"\n"


def _told(name: bytes, kind: bytes, until: int, parts: list[bytes]) -> dict[str, object]:
    told: dict[str, object] = {"name": name.decode("latin-1"), "kind": kind.decode()}
    if until >= 0:
        told["until"] = until
    return told | {"parts": [b64encode(part).decode() for part in parts]}


def whole(lines: Iterable[bytes]) -> dict[str, Any]:
    """Return what a backup says of itself, once all of it has been read. Raises ``NoBackup``."""
    digest, head, last, count = sha256(), None, b"", -1
    for line in lines:
        if head is None:
            head = _head(line)
        digest.update(last)
        last, count = line, count + 1
    told = _read(last) if count > 0 else {}
    if told != {"things": count - 1, "sha256": digest.hexdigest()}:
        raise NoBackup("it is not whole: it was cut short, or changed")
    return head or {}


def restore(redis: Redis, lines: Iterable[bytes], *, replace: bool = False) -> int:
    """Put back what a backup holds that is ``whole``, all or nothing, and return how many things that are.

    Raises ``InUse`` where workers are at work there, and ``NotEmpty`` unless it is to ``replace`` what is there.
    """
    if sum(living_workers(redis).values()):
        raise InUse
    there = list(redis.scan_iter(f"{PREFIX}*", count=1000))
    if not replace and any(not name.startswith(tuple(end.encode() for end in _PASSING_ENDS)) for name in there):
        raise NotEmpty
    count = 0
    with redis.pipeline() as pipe:
        for name in (*there, *redis.scan_iter("rq:*", count=1000)):
            pipe.delete(name)
        for told in map(_read, lines):
            if "name" in told:
                _put(pipe, told)
                count += 1
        pipe.execute()
    return count


def _put(pipe: Pipeline, told: Mapping[str, Any]) -> None:
    name: Any = told["name"].encode("latin-1")
    parts = [b64decode(part) for part in told["parts"]]
    pairs: dict[Any, Any] = dict(zip(parts[::2], parts[1::2], strict=False))
    match told["kind"]:
        case "string":
            pipe.set(name, parts[0])
        case "hash":
            pipe.hset(name, mapping=pairs)
        case "list":
            # carried out again, because nothing told that it was, it must not come to twice as many
            pipe.delete(name)
            pipe.rpush(name, *parts)
        case "set":
            pipe.sadd(name, *parts)
        case "zset":
            pipe.zadd(name, pairs)
    if "until" in told:
        pipe.pexpireat(name, told["until"])


def _head(line: bytes) -> dict[str, Any]:
    head = _read(line)
    if head.get("backup") != "lapstock":
        raise NoBackup("it is no backup of lapstock")
    if head.get("format") != FORMAT:
        raise NoBackup(f"it is of another version, {head.get('version')}, and this one reads format {FORMAT}")
    return head


def _read(line: bytes) -> dict[str, Any]:
    try:
        return dict(json.loads(line))
    except (ValueError, TypeError) as error:
        raise NoBackup(f"it has a line that can't be read: {error}") from None
