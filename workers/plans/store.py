"""The one store: every requested plan with its state, job, progress and result, kept in Redis.

Whoever changes a plan says which state and generation it believes the plan to be in; Redis compares
and sets in one piece (``plan_scripts``), so a result is written once and no late worker overwrites another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Any, cast

from redis import Redis

from solver import Progress
from solver.job import Job
from solver.plan import CutPlan
from workers import PREFIX
from workers.codec import Unreadable, pack, packed, reading, text_of, unpack
from workers.orders.particulars import NOTHING_KNOWN, Act, Particulars, act_written, written
from workers.plans.index import ENTRIES, LEAVING, SERIALS, PlanIndex, Sought, words_of
from workers.plans.record import FIELDS, UNREADABLE, Failure, Record, State, record_of, this_version
from workers.plans.scripts import AMEND, BEAT, BURY, CANCEL, CREATE, FORGET, MOVE, NOTE
from workers.process import LEASE_SECONDS
from workers.rack.store import RACK, Holding, Taken

DAY = 24 * 3600
PLAN = PREFIX + "plan:"
WAITING = PREFIX + "waiting"
RUNNING = PREFIX + "running"
TOTALS = PREFIX + "totals"
_MOST_HISTORY = 64 * 1024
_LOOKED_THROUGH = 1_000
"""So many plans are looked at for one page of a list before it is answered with what was found."""


class KeyReused(Exception):
    """An idempotency key came back with a different request."""


class TooManyWaiting(Exception):
    """As many plans of this client wait as may."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A request to be kept: for whom, at which priority, and under which idempotency key if any.

    ``measured`` is the request for a take-off, as JSON, that the job was made of; None where it was not measured.
    ``written`` is the list as it came, as its page wants it to open it again; None where it did not come as a list.
    ``by`` is who asked there, if that is known, ``made_from`` the number of the plan that this one was made from.
    ``replaces`` is the id of the plan whose place it takes: what that one holds on the rack is there for this one.
    ``act`` says why it was asked for, ``callback`` where to tell that it is over; ``beside`` that it is to be held
    beside the plan it is made from.
    """

    client: str
    queue: str
    job: Job
    key: str | None = None
    fingerprint: str = ""
    measured: Mapping[str, Any] | None = None
    written: Mapping[str, Any] | None = None
    particulars: Particulars = NOTHING_KNOWN
    by: str = ""
    made_from: str = ""
    replaces: str = ""
    act: Act = Act.ASKED
    callback: str = ""
    beside: bool = False


@dataclass(frozen=True, slots=True)
class Listed:
    """A page of a list of plans, newest first, and where the next begins: "" where there is none."""

    records: tuple[Record, ...]
    following: str


class Store:
    """Requested plans in Redis. Methods that change one return whether it was still as believed."""

    def __init__(self, redis: Redis, keep_days: int = 30, most_waiting: int = 0) -> None:
        """Keep results for so many days, and so many plans of a client waiting; as many as there are where it is 0."""
        self.redis = redis
        self._most_waiting = most_waiting
        self._keep = keep_days * DAY
        self._create = redis.register_script(CREATE)
        self._move = redis.register_script(MOVE)
        self._beat = redis.register_script(BEAT)
        self._cancel = redis.register_script(CANCEL)
        self._forget = redis.register_script(FORGET)
        self._bury = redis.register_script(BURY)
        self._note = redis.register_script(NOTE)
        self._amend = redis.register_script(AMEND)
        self._index = PlanIndex(redis)

    def create(self, plan_id: str, ask: Ask) -> str:
        """Keep a new plan as queued and return its id, or the id that its idempotency key already stands for.

        Raises ``KeyReused`` where the key stands for another request, and ``TooManyWaiting``.
        """
        job = text_of(ask.job.as_asked)
        fields: dict[str, object] = {
            "client": ask.client, "state": State.QUEUED, "queue": ask.queue, "version": 1, "generation": 1,
            "deaths": 0, "job": packed(job), "digest": sha256(job).hexdigest(), "name": ask.job.name,
            "particulars": written(ask.particulars), "made_from": ask.made_from, "replaces": ask.replaces,
            "callback": ask.callback, "beside": "1" if ask.beside else "",
        }  # fmt: skip
        if ask.measured is not None:
            fields |= {"measured": pack(ask.measured), "is_measured": "1"}
        if ask.written is not None:
            fields["written"] = pack(ask.written)
        key = _idempotency_key(ask.client, ask.key) if ask.key else ""
        standing: Any = self._create(
            keys=[PLAN + plan_id, WAITING, _tombstone(plan_id), key, ENTRIES, SERIALS, f"{WAITING}-of:{ask.client}"],
            args=[
                plan_id, ask.fingerprint, self._keep, self._keep + 90 * DAY, ask.client, PLAN,
                words_of(ask.client, ask.job.name, ask.particulars), act_written(ask.client, ask.by, ask.act),
                self._most_waiting, *_flat(fields),
            ],
        )  # fmt: skip
        kept_id, fingerprint = (str(part.decode()) for part in standing)
        if fingerprint != ask.fingerprint:
            raise KeyReused
        if not kept_id:
            raise TooManyWaiting
        return kept_id

    def standing(self, client: str, key: str) -> tuple[str, str] | None:
        """Return id and fingerprint of what was asked for under an idempotency key, None where nothing was."""
        kept: Any = self.redis.hmget(_idempotency_key(client, key), "id", "fingerprint")
        return (kept[0].decode(), kept[1].decode()) if kept[0] else None

    def fetch(self, plan_id: str) -> Record | None:
        """Return what is known of a plan, or None; a record that can't be read is one of a failed plan."""
        try:
            with reading(plan_id):
                kept: Any = self.redis.hmget(PLAN + plan_id, FIELDS)
        except Unreadable:
            kept = [b""] * len(FIELDS)
        else:
            if not any(kept):
                return None
        record = record_of(plan_id, dict(zip(FIELDS, kept, strict=True)))
        # whose a plan is stands beside its record too, so that its owner can be told what became of it
        return record if record.client else replace(record, client=self.owner_of_expired(plan_id) or "")

    def owner_of_expired(self, plan_id: str) -> str | None:
        """Return whose plan it was whose result has expired, or None where there was none."""
        try:
            with reading(plan_id):
                kept = cast("bytes | None", self.redis.get(_tombstone(plan_id)))
                return kept.decode() if kept is not None else None
        except Unreadable:
            return None

    def job(self, plan_id: str) -> Job | None:
        """Return the job of a plan, or None where the plan is gone. Raises ``Unreadable``."""
        with reading(plan_id):
            state, kept = cast("list[bytes | None]", self.redis.hmget(PLAN + plan_id, ["state", "job"]))
        return unpack(kept or b"", Job) if kept or state else None

    def plan(self, plan_id: str) -> CutPlan | None:
        """Return the cut plan, or None where there is none (yet). Raises ``Unreadable``."""
        with reading(plan_id):
            kept = cast("bytes | None", self.redis.hget(PLAN + plan_id, "plan"))
        return unpack(kept, CutPlan) if kept else None

    def digest(self, plan_id: str) -> str:
        """Return what is another as soon as anything that is kept of a plan is, whoever changed it."""
        kept = cast("dict[bytes, bytes]", self.redis.hgetall(PLAN + plan_id))
        return sha256(b"".join(sha256(part).digest() for pair in sorted(kept.items()) for part in pair)).hexdigest()

    def weight(self, plan_id: str) -> int:
        """Return how many bytes are kept of a plan and its job; 0 where there is none."""
        with self.redis.pipeline(transaction=False) as pipe:
            for part in ("job", "plan"):
                pipe.hstrlen(PLAN + plan_id, part)
            kept = pipe.execute(raise_on_error=False)
        return sum(size for size in kept if isinstance(size, int))

    def measured(self, plan_id: str) -> dict[str, Any] | None:
        """Return the request for a take-off that a plan was made of, or None. Raises ``Unreadable``."""
        with reading(plan_id):
            kept = cast("bytes | None", self.redis.hget(PLAN + plan_id, "measured"))
        return unpack(kept, dict) if kept else None

    def written(self, plan_id: str) -> dict[str, Any] | None:
        """Return the list that a plan was made of as it came, or None. Raises ``Unreadable``."""
        kept = cast("bytes | None", self.redis.hget(PLAN + plan_id, "written"))
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

    def finish(
        self,
        plan_id: str,
        generation: int,
        state: State,
        outcome: CutPlan | Failure,
        solve_ms: int,
        holding: Holding | None = None,
    ) -> bool:
        """Write the result of a running plan, once, and hold what it uses of the rack.

        Raises ``Taken`` where that is no longer free; then nothing is written.
        """
        fields: dict[str, object] = {"solve_ms": solve_ms} | ({"job": pack(holding.job)} if holding else {})
        if isinstance(outcome, Failure):
            fields |= {"failure_code": outcome.code, "failure_detail": outcome.detail}
        else:
            fields |= {"plan": pack(outcome), "has_plan": "1", "planned_by": this_version()}
        return self._moved(
            plan_id, State.RUNNING, generation, state, fields=fields, stamp="finished_at", holding=holding
        )

    def give_up(self, record: Record, state: State, failure: Failure | None = None, *, expired: bool = False) -> bool:
        """End a plan that nobody works on, with a reason if it failed; ``expired`` only if its lease has run out."""
        fields = {"failure_code": failure.code, "failure_detail": failure.detail} if failure else {}
        return self._moved(
            record.id, record.state, record.generation, state, fields=fields, stamp="finished_at", expired=expired
        )

    def bury(self, plan_id: str) -> bool:
        """End as failed a plan that is not over and whose record can't be read."""
        args: list[Any] = [plan_id, self._keep, UNREADABLE.code, UNREADABLE.detail]
        keys = [PLAN + plan_id, WAITING, RUNNING, TOTALS, LEAVING, _tombstone(plan_id)]
        return bool(self._bury(keys=keys, args=args))

    def requeue(self, record: Record, *, deaths: int, expired: bool = False) -> bool:
        """Put a plan back to queued in its next generation; ``expired`` only if its lease has run out."""
        fields = {"generation": record.generation + 1, "deaths": deaths}
        return self._moved(record.id, record.state, record.generation, State.QUEUED, fields=fields, expired=expired)

    def ask_cancel(self, plan_id: str) -> bool:
        """Ask whoever runs a plan to stop; it is heard at the next beat."""
        return bool(self._cancel(keys=[PLAN + plan_id]))

    def forget(self, plan_id: str) -> bool:
        """Remove a plan that is over."""
        return bool(self._forget(keys=[PLAN + plan_id, _tombstone(plan_id), ENTRIES, LEAVING]))

    def note(self, plan_id: str, client: str, by: str, act: Act, detail: str = "") -> None:
        """Write into a plan's history what was done to it."""
        self._note(keys=[PLAN + plan_id], args=[act_written(client, by, act, detail), _MOST_HISTORY])

    def amend(self, record: Record, particulars: Particulars) -> bool:
        """Keep other particulars of a plan, if it is still as believed, and have it found by them."""
        words = words_of(record.client, record.name, particulars)
        args: list[Any] = [record.id, record.version, record.client, words, written(particulars)]
        return bool(self._amend(keys=[PLAN + record.id, ENTRIES, LEAVING], args=args))

    def listed(self, client: str, sought: Sought, of: Callable[[Record], bool], before: str, most: int) -> Listed:
        """Return a client's plans that are as ``sought`` and of which ``of`` says so, newest first.

        ``before`` is where the page before ended. Where few of many are such, a page may have fewer than ``most`` and
        others follow it all the same.
        """
        found: list[Record] = []
        looked, step = 0, most
        while looked < _LOOKED_THROUGH:
            entries = self._index.look_up(client, sought, before, step)
            for record, (stamp, _) in zip(self._records([plan_id for _, plan_id in entries]), entries, strict=True):
                before = stamp
                if record is not None and of(record):
                    found.append(record)
                if len(found) == most:
                    more = self._index.look_up(client, sought, before, 1)
                    return Listed(tuple(found), before if more else "")
            if len(entries) < step:
                return Listed(tuple(found), "")
            # each look may go through all that is found by a word, so that there must be few of them
            looked, step = looked + step, max(most, min(4 * step, _LOOKED_THROUGH))
        return Listed(tuple(found), before)

    def prune(self) -> None:
        """Take what has expired out of the index."""
        self._index.prune()

    def _records(self, plan_ids: Sequence[str]) -> Iterator[Record | None]:
        with self.redis.pipeline(transaction=False) as pipe:
            for plan_id in plan_ids:
                pipe.hmget(PLAN + plan_id, FIELDS)
            for plan_id, kept in zip(plan_ids, pipe.execute(raise_on_error=False), strict=True):
                if isinstance(kept, Exception):
                    yield self.fetch(plan_id)
                else:
                    yield record_of(plan_id, dict(zip(FIELDS, kept, strict=True))) if any(kept) else None

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
        holding: Holding | None = None,
    ) -> bool:
        keep = self._keep if after.over else 0
        settings: list[Any] = [plan_id, before, generation, after, LEASE_SECONDS, stamp, keep, int(expired)]
        keys = [PLAN + plan_id, WAITING, RUNNING, TOTALS, LEAVING, holding.rack if holding else RACK]
        told = holding.told() if holding else ""
        moved: Any = self._move(keys=keys, args=[*settings, told, *_flat(fields or {})])
        if isinstance(moved, list):
            raise Taken(sorted(label.decode() for label in moved))
        return bool(moved)


def _idempotency_key(client: str, key: str) -> str:
    return f"{PREFIX}key:{sha256(client.encode() + bytes(1) + key.encode()).hexdigest()}"


def _tombstone(plan_id: str) -> str:
    return f"{PREFIX}gone:{plan_id}"


def _flat(fields: Mapping[str, object]) -> list[Any]:
    return [part for pair in fields.items() for part in pair]
