"""The one store: every requested plan with its state, job, progress and result, kept in Redis.

Whoever changes a plan says which state and generation it believes the plan to be in; Redis compares
and sets in one piece (the Lua below), so a result is written once and no late worker overwrites another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, cast

from redis import Redis

from solver import Progress
from solver.job import Job
from solver.plan import CutPlan
from workers.codec import pack, unpack
from workers.record import FIELDS, UNREADABLE, Failure, Record, State, record_of
from workers.timing import LEASE_SECONDS

DAY = 24 * 3600
PREFIX = "lapstock:"
PLAN = PREFIX + "plan:"
WAITING = PREFIX + "waiting"
RUNNING = PREFIX + "running"
TOTALS = PREFIX + "totals"

# Every script takes the plan's hash, the set of plans waiting and the set of plans running; scores are seconds on
# Redis's own clock, so hosts whose clocks differ agree on when a lease has expired.

CREATE = """
-- KEYS: plan, waiting, tombstone, idempotency key or ''
-- ARGV: id, fingerprint, seconds a key is kept, seconds a tombstone is kept, client, field, value, ...
if KEYS[4] ~= '' then
  local known = redis.call('HMGET', KEYS[4], 'id', 'fingerprint')
  if known[1] and redis.call('EXISTS', ARGV[6] .. known[1]) == 1 then return known end
  redis.call('HSET', KEYS[4], 'id', ARGV[1], 'fingerprint', ARGV[2])
  redis.call('EXPIRE', KEYS[4], ARGV[3])
end
redis.call('SET', KEYS[3], ARGV[5], 'EX', ARGV[4])
local now = redis.call('TIME')
redis.call('ZADD', KEYS[2], now[1] + now[2] / 1000000, ARGV[1])
redis.call('HSET', KEYS[1], 'created_at', now[1] .. '.' .. string.format('%06d', now[2]), unpack(ARGV, 7))
return {ARGV[1], ARGV[2]}
"""
"""Keep a new plan, unless its idempotency key already names one; returns the id and fingerprint that stand."""

MOVE = """
-- KEYS: plan, waiting, running, totals
-- ARGV: id, from state, generation, to state, lease seconds, time field or '', seconds to keep or '0',
--       '1' to move it only if its lease has expired, field, value, ...
local now = redis.call('TIME')
now = now[1] + now[2] / 1000000
local kept = redis.call('HMGET', KEYS[1], 'state', 'generation')
if kept[1] ~= ARGV[2] or kept[2] ~= ARGV[3] then return 0 end
local lease = redis.call('ZSCORE', KEYS[3], ARGV[1])
if ARGV[8] == '1' and lease and tonumber(lease) > now then return 0 end
redis.call('ZREM', KEYS[2], ARGV[1])
redis.call('ZREM', KEYS[3], ARGV[1])
if ARGV[4] == 'queued' then redis.call('ZADD', KEYS[2], now, ARGV[1]) end
if ARGV[4] == 'running' then redis.call('ZADD', KEYS[3], now + ARGV[5], ARGV[1]) end
redis.call('HSET', KEYS[1], 'state', ARGV[4], unpack(ARGV, 9))
redis.call('HINCRBY', KEYS[1], 'version', 1)
if ARGV[6] ~= '' then redis.call('HSET', KEYS[1], ARGV[6], string.format('%.6f', now)) end
if ARGV[7] ~= '0' then
  redis.call('HSET', KEYS[1], 'expires_at', string.format('%.6f', now + ARGV[7]))
  redis.call('EXPIRE', KEYS[1], ARGV[7])
  redis.call('HINCRBY', KEYS[4], ARGV[4], 1)
end
return 1
"""
"""Compare and set: change a plan's state if it is still in the state and generation the caller believes."""

BEAT = """
-- KEYS: plan, waiting, running
-- ARGV: id, generation, lease seconds, cost, bound, phase
local kept = redis.call('HMGET', KEYS[1], 'state', 'generation', 'cancel', 'cost', 'bound', 'phase')
if kept[1] ~= 'running' or kept[2] ~= ARGV[2] then return 'lost' end
local now = redis.call('TIME')
redis.call('ZADD', KEYS[3], now[1] + now[2] / 1000000 + ARGV[3], ARGV[1])
if ARGV[4] ~= '' and (kept[4] ~= ARGV[4] or kept[5] ~= ARGV[5] or kept[6] ~= ARGV[6]) then
  redis.call('HSET', KEYS[1], 'cost', ARGV[4], 'bound', ARGV[5], 'phase', ARGV[6])
  redis.call('HINCRBY', KEYS[1], 'version', 1)
end
if kept[3] == '1' then return 'cancel' end
return 'go on'
"""
"""Renew the lease of whoever plans this, keep the progress, and tell whether to go on."""

CANCEL = """
-- KEYS: plan
if redis.call('HGET', KEYS[1], 'state') ~= 'running' then return 0 end
redis.call('HSET', KEYS[1], 'cancel', '1')
return 1
"""
"""Ask whoever runs this plan to stop; heard at the next beat."""

FORGET = """
-- KEYS: plan, tombstone
local state = redis.call('HGET', KEYS[1], 'state')
if not state or state == 'queued' or state == 'running' then return 0 end
redis.call('DEL', KEYS[1], KEYS[2])
return 1
"""
"""Remove a plan that is over, and every trace of it."""

BURY = """
-- KEYS: plan, waiting, running, totals
-- ARGV: id, seconds to keep, failure code, failure detail
redis.call('ZREM', KEYS[2], ARGV[1])
redis.call('ZREM', KEYS[3], ARGV[1])
local state = redis.call('HGET', KEYS[1], 'state')
if state == 'succeeded' or state == 'failed' or state == 'cancelled' then return 0 end
if redis.call('EXISTS', KEYS[1]) == 0 then return 0 end
local now = redis.call('TIME')
now = now[1] + now[2] / 1000000
local version = (tonumber(redis.call('HGET', KEYS[1], 'version')) or 0) + 1
redis.call('HDEL', KEYS[1], 'cost', 'bound')
redis.call('HSET', KEYS[1], 'state', 'failed', 'failure_code', ARGV[3], 'failure_detail', ARGV[4],
  'version', string.format('%.0f', version), 'finished_at', string.format('%.6f', now),
  'expires_at', string.format('%.6f', now + ARGV[2]))
redis.call('EXPIRE', KEYS[1], ARGV[2])
redis.call('HINCRBY', KEYS[4], 'failed', 1)
return 1
"""
"""End a plan as failed whatever else its record says, for nobody can read it; one that is over is left as it is."""


class KeyReused(Exception):
    """An idempotency key came back with a different request."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A request to be kept: for whom, at which priority, and under which idempotency key if any.

    ``measured`` is the request for a take-off, as JSON, that the job was made of; None where it was not measured.
    """

    client: str
    queue: str
    job: Job
    key: str | None = None
    fingerprint: str = ""
    measured: Mapping[str, Any] | None = None


class Store:
    """Requested plans in Redis. Methods that change one return whether it was still as believed."""

    def __init__(self, redis: Redis, keep_days: int = 30) -> None:
        self.redis = redis
        self._keep = keep_days * DAY
        self._create = redis.register_script(CREATE)
        self._move = redis.register_script(MOVE)
        self._beat = redis.register_script(BEAT)
        self._cancel = redis.register_script(CANCEL)
        self._forget = redis.register_script(FORGET)
        self._bury = redis.register_script(BURY)

    def create(self, plan_id: str, ask: Ask) -> str:
        """Keep a new plan as queued and return its id, or the id that its idempotency key already stands for.

        Raises ``KeyReused`` where the key stands for another request.
        """
        fields: dict[str, object] = {
            "client": ask.client, "state": State.QUEUED, "queue": ask.queue, "version": 1, "generation": 1,
            "deaths": 0, "job": pack(ask.job),
        }  # fmt: skip
        if ask.measured is not None:
            fields |= {"measured": pack(ask.measured), "is_measured": "1"}
        key = _idempotency_key(ask.client, ask.key) if ask.key else ""
        standing: Any = self._create(
            keys=[PLAN + plan_id, WAITING, _tombstone(plan_id), key],
            args=[plan_id, ask.fingerprint, self._keep, self._keep + 90 * DAY, ask.client, PLAN, *_flat(fields)],
        )
        kept_id, fingerprint = (str(part.decode()) for part in standing)
        if fingerprint != ask.fingerprint:
            raise KeyReused
        return kept_id

    def fetch(self, plan_id: str) -> Record | None:
        """Return what is known of a plan, or None; a record that can't be read is one of a failed plan."""
        kept: Any = self.redis.hmget(PLAN + plan_id, FIELDS)
        return record_of(plan_id, dict(zip(FIELDS, kept, strict=True))) if any(kept) else None

    def owner_of_expired(self, plan_id: str) -> str | None:
        """Return whose plan it was whose result has expired, or None where there was none."""
        kept = cast("bytes | None", self.redis.get(_tombstone(plan_id)))
        return kept.decode() if kept is not None else None

    def job(self, plan_id: str) -> Job | None:
        """Return the job of a plan, or None where it is gone. Raises ``Unreadable``."""
        kept = cast("bytes | None", self.redis.hget(PLAN + plan_id, "job"))
        return unpack(kept, Job) if kept else None

    def plan(self, plan_id: str) -> CutPlan | None:
        """Return the cut plan, or None where there is none (yet). Raises ``Unreadable``."""
        kept = cast("bytes | None", self.redis.hget(PLAN + plan_id, "plan"))
        return unpack(kept, CutPlan) if kept else None

    def measured(self, plan_id: str) -> dict[str, Any] | None:
        """Return the request for a take-off that a plan was made of, or None. Raises ``Unreadable``."""
        kept = cast("bytes | None", self.redis.hget(PLAN + plan_id, "measured"))
        return unpack(kept, dict) if kept else None

    def start(self, plan_id: str, generation: int) -> bool:
        """Mark a queued plan as running, under a lease."""
        return self._moved(plan_id, State.QUEUED, generation, State.RUNNING, stamp="started_at")

    def beat(self, plan_id: str, generation: int, progress: Progress | None) -> str:
        """Renew the lease and keep the progress; returns ``go on``, ``cancel`` or ``lost``."""
        told = (str(progress.cost), str(progress.bound), progress.phase) if progress else ("", "", "")
        args: list[Any] = [plan_id, generation, LEASE_SECONDS, *told]
        answer: Any = self._beat(keys=[PLAN + plan_id, WAITING, RUNNING], args=args)
        return cast("bytes", answer).decode()

    def finish(self, plan_id: str, generation: int, state: State, outcome: CutPlan | Failure, solve_ms: int) -> bool:
        """Write the result of a running plan, once."""
        fields: dict[str, object] = {"solve_ms": solve_ms}
        if isinstance(outcome, Failure):
            fields |= {"failure_code": outcome.code, "failure_detail": outcome.detail}
        else:
            fields |= {"plan": pack(outcome), "has_plan": "1"}
        return self._moved(plan_id, State.RUNNING, generation, state, fields=fields, stamp="finished_at")

    def give_up(self, record: Record, state: State, failure: Failure | None = None, *, expired: bool = False) -> bool:
        """End a plan that nobody works on, with a reason if it failed; ``expired`` only if its lease has run out."""
        fields = {"failure_code": failure.code, "failure_detail": failure.detail} if failure else {}
        return self._moved(
            record.id, record.state, record.generation, state, fields=fields, stamp="finished_at", expired=expired
        )

    def bury(self, plan_id: str) -> bool:
        """End as failed a plan that is not over and whose record can't be read."""
        args: list[Any] = [plan_id, self._keep, UNREADABLE.code, UNREADABLE.detail]
        return bool(self._bury(keys=[PLAN + plan_id, WAITING, RUNNING, TOTALS], args=args))

    def requeue(self, record: Record, *, deaths: int, expired: bool = False) -> bool:
        """Put a plan back to queued in its next generation; ``expired`` only if its lease has run out."""
        fields = {"generation": record.generation + 1, "deaths": deaths}
        return self._moved(record.id, record.state, record.generation, State.QUEUED, fields=fields, expired=expired)

    def ask_cancel(self, plan_id: str) -> bool:
        """Ask whoever runs a plan to stop; it is heard at the next beat."""
        return bool(self._cancel(keys=[PLAN + plan_id]))

    def forget(self, plan_id: str) -> bool:
        """Remove a plan that is over."""
        return bool(self._forget(keys=[PLAN + plan_id, _tombstone(plan_id)]))

    def expired(self) -> list[str]:
        """Return the running plans whose lease has run out."""
        now = self.redis.time()[0]
        members = cast("list[bytes]", self.redis.zrangebyscore(RUNNING, 0, now))
        return [member.decode(errors="replace") for member in members]

    def waiting(self, at_least: int) -> list[str]:
        """Return the plans queued for ``at_least`` so many seconds, longest waiting first."""
        now = self.redis.time()[0]
        members = cast("list[bytes]", self.redis.zrangebyscore(WAITING, 0, now - at_least))
        return [member.decode(errors="replace") for member in members]

    def counts(self) -> tuple[int, int]:
        """Return how many plans are waiting and how many running."""
        return self.redis.zcard(WAITING), self.redis.zcard(RUNNING)

    def totals(self) -> dict[str, int]:
        """Return how many plans ever ended in each state."""
        kept = cast("dict[bytes, bytes]", self.redis.hgetall(TOTALS))
        return {name.decode(): int(value) for name, value in kept.items()}

    def _moved(
        self,
        plan_id: str,
        before: State,
        generation: int,
        after: State,
        *,
        fields: Mapping[str, object] | None = None,
        stamp: str = "",
        expired: bool = False,
    ) -> bool:
        keep = self._keep if after.over else 0
        settings: list[Any] = [plan_id, before, generation, after, LEASE_SECONDS, stamp, keep, int(expired)]
        return bool(self._move(keys=[PLAN + plan_id, WAITING, RUNNING, TOTALS], args=[*settings, *_flat(fields or {})]))


def _idempotency_key(client: str, key: str) -> str:
    return f"{PREFIX}key:{sha256(client.encode() + bytes(1) + key.encode()).hexdigest()}"


def _tombstone(plan_id: str) -> str:
    return f"{PREFIX}gone:{plan_id}"


def _flat(fields: Mapping[str, object]) -> list[Any]:
    return [part for pair in fields.items() for part in pair]
