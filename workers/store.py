"""The one store: every requested plan with its state, job, progress and result, kept in Redis.

Whoever changes a plan says which state and generation it believes the plan to be in; Redis compares
and sets in one piece (``scripts``), so a result is written once and no late worker overwrites another.
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
from workers.scripts import BEAT, BURY, CANCEL, CREATE, FORGET, MOVE
from workers.timing import LEASE_SECONDS

DAY = 24 * 3600
PREFIX = "lapstock:"
PLAN = PREFIX + "plan:"
WAITING = PREFIX + "waiting"
RUNNING = PREFIX + "running"
TOTALS = PREFIX + "totals"


class KeyReused(Exception):
    """An idempotency key came back with a different request."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A request to be kept: for whom, at which priority, and under which idempotency key if any."""

    client: str
    queue: str
    job: Job
    key: str | None = None
    fingerprint: str = ""


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
        fields = {
            "client": ask.client, "state": State.QUEUED, "queue": ask.queue, "version": 1, "generation": 1,
            "deaths": 0, "job": pack(ask.job),
        }  # fmt: skip
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

    def give_up(self, record: Record, state: State, failure: Failure | None = None, *, lapsed: bool = False) -> bool:
        """End a plan that nobody works on, with a reason if it failed; ``lapsed`` only if its lease has run out."""
        fields = {"failure_code": failure.code, "failure_detail": failure.detail} if failure else {}
        return self._moved(
            record.id, record.state, record.generation, state, fields=fields, stamp="finished_at", lapsed=lapsed
        )

    def bury(self, plan_id: str) -> bool:
        """End as failed a plan that is not over and whose record can't be read."""
        args: list[Any] = [plan_id, self._keep, UNREADABLE.code, UNREADABLE.detail]
        return bool(self._bury(keys=[PLAN + plan_id, WAITING, RUNNING, TOTALS], args=args))

    def requeue(self, record: Record, *, deaths: int, lapsed: bool = False) -> bool:
        """Put a plan back to queued in its next generation; ``lapsed`` only if its lease has run out."""
        fields = {"generation": record.generation + 1, "deaths": deaths}
        return self._moved(record.id, record.state, record.generation, State.QUEUED, fields=fields, lapsed=lapsed)

    def ask_cancel(self, plan_id: str) -> bool:
        """Ask whoever runs a plan to stop; it is heard at the next beat."""
        return bool(self._cancel(keys=[PLAN + plan_id]))

    def forget(self, plan_id: str) -> bool:
        """Remove a plan that is over."""
        return bool(self._forget(keys=[PLAN + plan_id, _tombstone(plan_id)]))

    def lapsed(self) -> list[str]:
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
        lapsed: bool = False,
    ) -> bool:
        keep = self._keep if after.over else 0
        settings: list[Any] = [plan_id, before, generation, after, LEASE_SECONDS, stamp, keep, int(lapsed)]
        return bool(self._move(keys=[PLAN + plan_id, WAITING, RUNNING, TOTALS], args=[*settings, *_flat(fields or {})]))


def _idempotency_key(client: str, key: str) -> str:
    return f"{PREFIX}key:{sha256(client.encode() + bytes(1) + key.encode()).hexdigest()}"


def _tombstone(plan_id: str) -> str:
    return f"{PREFIX}gone:{plan_id}"


def _flat(fields: Mapping[str, object]) -> list[Any]:
    return [part for pair in fields.items() for part in pair]
