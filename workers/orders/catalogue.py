"""The materials that a client sells or buys again and again, kept until they are taken out.

A material is kept as the JSON that its schema writes. Every change has the next number of the client's catalogue,
which is the version of what it changed: no number comes twice, even where a material is taken out and put again, so
that a plan which names material and version means one state of it. What a material was before is kept beside it, the
last ``MOST_BEFORE`` states, also once it is taken out.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, cast

from redis import Redis

from workers import PREFIX
from workers.codec import reading

MOST = 5_000
"""Materials of one client."""
MOST_BEFORE = 20
"""Earlier states that are kept of a material."""
CHANGE = """
-- KEYS: materials, versions, what materials were before
-- ARGV: how many materials and how many earlier states of each at most, then for each: id, the version believed,
-- what it becomes ('' takes it out)
-- a version believed is '' for whichever, '0' for none
local more = 0
for n = 3, #ARGV, 3 do
  local kept = redis.call('HGET', KEYS[1], ARGV[n]) or '0 '
  if ARGV[n + 1] ~= '' and ARGV[n + 1] ~= kept:match('^%d+') then return 'changed' end
  if kept == '0 ' and ARGV[n + 2] ~= '' then more = more + 1 end
end
if more > 0 and redis.call('HLEN', KEYS[1]) + more > tonumber(ARGV[1]) then return 'full' end
for n = 3, #ARGV, 3 do
  local kept = redis.call('HGET', KEYS[1], ARGV[n])
  if kept and kept:match(' (.*)$') ~= ARGV[n + 2] then
    local known, before = pcall(cjson.decode, redis.call('HGET', KEYS[3], ARGV[n]) or '[]')
    if not known or type(before) ~= 'table' then before = {} end
    table.insert(before, 1, kept)
    before[tonumber(ARGV[2]) + 1] = nil
    redis.call('HSET', KEYS[3], ARGV[n], cjson.encode(before))
  end
  if ARGV[n + 2] == '' then
    redis.call('HDEL', KEYS[1], ARGV[n])
  elseif not kept or kept:match(' (.*)$') ~= ARGV[n + 2] then
    redis.call('HSET', KEYS[1], ARGV[n], redis.call('INCR', KEYS[2]) .. ' ' .. ARGV[n + 2])
  end
end
return 'kept'
"""
"""Change materials all at once or not at all; what is put as it is keeps its version."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A material of a catalogue: ``body`` is what its schema writes of it."""

    id: str
    version: int
    body: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Change:
    """What becomes of a material: its new body, None to take it out.

    It is made only while the material has the version ``believed``: 0 while there is none, None whichever it has.
    """

    id: str
    body: dict[str, Any] | None
    believed: int | None = None


class CatalogueChanged(Exception):
    """A material is not as was believed; nothing was changed."""


class CatalogueFull(Exception):
    """There would be more than ``MOST`` materials; nothing was changed."""


class Catalogues:
    """The catalogue of every client in Redis."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis
        self._change = redis.register_script(CHANGE)

    def fetch(self, client: str, ids: Sequence[str]) -> dict[str, Entry]:
        """Return those of some materials that there are, by id. Raises ``Unreadable``."""
        with reading("a catalogue"):
            kept = cast("list[bytes | None]", self._redis.hmget(_name(client), ids)) if ids else []
        return {id_: _entry(id_, entry) for id_, entry in zip(ids, kept, strict=True) if entry is not None}

    def before(self, client: str, id_: str, version: int) -> Entry | None:
        """Return what a material was, None where that is not known. Raises ``Unreadable``."""
        with reading(f"what material {id_} was"):
            kept = cast("bytes | None", self._redis.hget(f"{_name(client)}:before", id_))
            states = [_entry(id_, state.encode()) for state in json.loads(kept or "[]")]
        return next((entry for entry in states if entry.version == version), None)

    def every(self, client: str) -> list[Entry]:
        """Return all materials of a client by the order of their ids. Raises ``Unreadable``."""
        with reading("a catalogue"):
            kept = cast("dict[bytes, bytes]", self._redis.hgetall(_name(client)))
        return [_entry(id_.decode(), kept[id_]) for id_ in sorted(kept)]

    def change(self, client: str, changes: Iterable[Change]) -> None:
        """Make changes, all or none. Raises ``CatalogueChanged`` and ``CatalogueFull``."""
        args: list[Any] = [MOST, MOST_BEFORE]
        for each in changes:
            believed = "" if each.believed is None else each.believed
            args += [each.id, believed, "" if each.body is None else json.dumps(each.body, separators=(",", ":"))]
        name = _name(client)
        outcome = cast("bytes", self._change(keys=[name, f"{name}:versions", f"{name}:before"], args=args))
        if outcome == b"changed":
            raise CatalogueChanged
        if outcome == b"full":
            raise CatalogueFull


def _entry(id_: str, kept: bytes) -> Entry:
    with reading(f"material {id_}"):
        version, _, body = kept.decode().partition(" ")
        return Entry(id_, int(version), json.loads(body))


def _name(client: str) -> str:
    return f"{PREFIX}catalogue:{sha256(client.encode()).hexdigest()}"
