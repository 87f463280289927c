"""What has become of a plan's pieces at the saw and on the wall, ticked by several people at once.

Whoever ticks says what the piece was taken to be before; Redis compares and sets in one piece, so that nobody
undoes what somebody else ticked meanwhile. What was really cut, hung or spoiled stays with the plan and leaves with it.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, cast

from redis import Redis

from workers import PREFIX
from workers.codec import Unreadable, reading
from workers.plans.store import PLAN

log = logging.getLogger(__name__)
MARK = """
-- KEYS: ticks, plan
-- ARGV: by whom, then for each tick: piece, state before, state after
if redis.call('EXISTS', KEYS[2]) == 0 then return 0 end
if redis.call('TYPE', KEYS[1]).ok ~= 'hash' then redis.call('DEL', KEYS[1]) end
local now = redis.call('TIME')
for n = 2, #ARGV, 3 do
  local read, kept = pcall(cjson.decode, redis.call('HGET', KEYS[1], ARGV[n]) or '')
  local state = read and type(kept) == 'table' and kept.state or 'to_cut'
  if state == ARGV[n + 1] and state ~= ARGV[n + 2] then
    redis.call('HSET', KEYS[1], ARGV[n],
      cjson.encode({state = ARGV[n + 2], at = now[1] .. '.' .. string.format('%06d', now[2]), by = ARGV[1]}))
  end
end
local left = redis.call('PTTL', KEYS[2])
if left > 0 then redis.call('PEXPIRE', KEYS[1], left) end
return 1
"""
"""Set each piece that is still as believed; what the plan's record outlives goes with it."""


class PieceState(StrEnum):
    """How far a piece is."""

    TO_CUT = "to_cut"
    CUT = "cut"
    HUNG = "hung"
    MISCUT = "miscut"


@dataclass(frozen=True, slots=True)
class Tick:
    """How far a piece is, since when, and who said so if that is known; a piece nobody ticked is to be cut."""

    state: PieceState = PieceState.TO_CUT
    at: datetime | None = None
    by: str = ""


UNTOUCHED = Tick()


@dataclass(frozen=True, slots=True)
class Change:
    """A tick as somebody made it: which piece, what it was taken to be, and what it is now."""

    piece: str
    before: PieceState
    after: PieceState


class Ticks:
    """The ticks of every plan in Redis."""

    def __init__(self, redis: Redis) -> None:
        self._redis = redis
        self._mark = redis.register_script(MARK)

    def of(self, plan_id: str, pieces: Sequence[str] | None = None) -> Mapping[str, Tick]:
        """Return the pieces of a plan, or those of ``pieces``, that somebody ticked.

        What can't be read of them is not known to be done.
        """
        try:
            with reading(plan_id):
                kept = self._kept(_name(plan_id), pieces)
        except Unreadable:
            log.exception("the ticks of plan %s can't be read", plan_id)
            return {}
        return {piece: _read(tick) for piece, tick in kept if tick is not None}

    def _kept(self, name: str, pieces: Sequence[str] | None) -> Iterable[tuple[str, bytes | None]]:
        if pieces is None:
            every = cast("dict[bytes, bytes]", self._redis.hgetall(name))
            return ((piece.decode(errors="replace"), tick) for piece, tick in every.items())
        some = cast("list[bytes | None]", self._redis.hmget(name, pieces)) if pieces else []
        return zip(pieces, some, strict=True)

    def mark(self, plan_id: str, changes: Sequence[Change], by: str) -> None:
        """Keep every change whose piece is still as it was taken to be; a change made before does no harm."""
        words = [word for change in changes for word in (change.piece, change.before, change.after)]
        self._mark(keys=[_name(plan_id), PLAN + plan_id], args=[by, *words])

    def forget(self, plan_id: str) -> None:
        """Forget the ticks of a plan."""
        self._redis.delete(_name(plan_id))


def _read(kept: bytes) -> Tick:
    try:
        with reading("a tick"):
            told: dict[str, Any] = json.loads(kept)
            return Tick(PieceState(told["state"]), datetime.fromtimestamp(float(told["at"]), UTC), str(told["by"]))
    except Unreadable:
        log.exception("a tick can't be read")
        return UNTOUCHED


def _name(plan_id: str) -> str:
    return f"{PREFIX}ticks:{plan_id}"
