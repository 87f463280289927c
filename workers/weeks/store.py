"""The store of crews' weeks in Redis. Changes are compared and set by version, so no late writer undoes another."""

from __future__ import annotations

import json
import logging
import re
import secrets
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any, cast
from zoneinfo import ZoneInfo

from redis import Redis
from redis.client import Pipeline
from redis.exceptions import WatchError

from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week
from workers import PREFIX
from workers.codec import Unreadable, pack, reading, unpack
from workers.notices import NEWS
from workers.plans.store import DAY
from workers.weeks.record import KeptWeek, Run, Waiting, WeekKey

WEEK = PREFIX + "week:"
INDEX = PREFIX + "weeks"
KEEP_DAYS = 120
"""A week is kept so long after its last change."""
MOST_RUNS = 500
"""Runs remembered of one week."""
ASK = """
-- KEYS: week
local version = tonumber(redis.call('HGET', KEYS[1], 'version') or '')
if not version then return 0 end
redis.call('HSET', KEYS[1], 'asked', version)
return version
"""
"""Note which version of a week somebody wants planned, if the week is there; returns it, or 0."""
Change = Callable[[KeptWeek | None], Week]
"""From a week as it is kept, if it is, to what it becomes."""
log = logging.getLogger(__name__)
_WEEK = re.compile(rb"[0-9]{4}-W[0-9]{2}")
_FIELDS = ("week", "version", "plan", "planned", "night", "asked", "begun", "refusals")


class JobElsewhere(Exception):
    """A job of this id is in another week of the same crew, named by the error's text."""


class WeekStore:
    """Crews' weeks, found by client, crew and week."""

    def __init__(self, redis: Redis) -> None:
        self.redis = redis
        self._ask = redis.register_script(ASK)

    def exists(self, key: WeekKey) -> bool:
        """Whether anything is kept of a week, be it readable or not."""
        return bool(self.redis.exists(record_name(key)))

    def fetch(self, key: WeekKey) -> KeptWeek | None:
        """Return what is kept of a week, or None. Raises ``Unreadable``."""
        with reading(str(key)):
            kept: Any = self.redis.hmget(record_name(key), _FIELDS)
        return _kept(key, kept) if any(kept) else None

    def every_key(self) -> Iterator[WeekKey]:
        """Yield every week kept, in a fixed order."""
        for member in sorted(cast("set[bytes]", self.redis.smembers(INDEX))):
            try:
                yield _key_of(member)
            except Unreadable:
                log.exception("the list of weeks holds what is no week")
                self.redis.srem(INDEX, member)

    def waiting(self, key: WeekKey) -> Waiting | None:
        """Return what says whether a week is to be planned, or None where it is not kept any more.

        Raises ``Unreadable``.
        """
        with reading(str(key)):
            kept: Any = self.redis.hmget(record_name(key), "timezone", "night", "asked", "week")
            if not any(kept):
                return None
            night = date.fromisoformat(kept[1].decode()) if kept[1] else None
            return Waiting(key, ZoneInfo(kept[0].decode()).key, night, int(kept[2] or 0))

    def change(self, key: WeekKey, how: Change, *, anew: bool = False) -> KeptWeek:
        """Change a week, or begin it, however many others do so at the same time; ``how`` may be called again.

        What ``how`` is given is None where there is no week, or with ``anew`` where it can't be read. Raises
        ``Unreadable``, and ``JobElsewhere`` where a job of the week has come to be in another week of the crew.
        """
        return self.change_with(key, how, anew=anew)[0]

    def change_with(
        self, key: WeekKey, how: Change, beside: Callable[[Pipeline], object] = lambda _: None, *, anew: bool = False
    ) -> tuple[KeptWeek, Any]:
        """Change a week, and whatever ``beside`` adds to the transaction: both or neither.

        Returns the week, and what Redis answers to the last command.
        """
        while True:
            try:
                with self.redis.pipeline() as pipe:
                    return self._changed(pipe, key, how, beside, anew=anew)
            except WatchError:
                continue

    def _changed(
        self, pipe: Pipeline, key: WeekKey, how: Change, beside: Callable[[Pipeline], object], *, anew: bool
    ) -> tuple[KeptWeek, Any]:
        jobs = _jobs_name(key)
        pipe.watch(record_name(key), jobs)  # type: ignore[no-untyped-call]
        try:
            with reading(str(key)):
                kept: Any = pipe.hmget(record_name(key), _FIELDS)
                before, version = (_kept(key, kept) if any(kept) else None), int(kept[1] or 0)
        except Unreadable:
            if not anew:
                raise
            before, version = None, 0
        week = how(before)
        elsewhere = _weeks_of(pipe, jobs)
        for job in week.jobs:
            other = elsewhere.get(job.id.encode(), key.week)
            if other != key.week:
                raise JobElsewhere(f"{job.id} is in {other} already; withdraw it there first")
        gone = [job.id for job in (before.week.jobs if before else ()) if job.id not in {j.id for j in week.jobs}]
        pipe.multi()
        if before is None:
            pipe.delete(record_name(key))
        if not elsewhere:
            pipe.delete(jobs)
        begun = before or _begun(key, week, version)
        after = replace(begun, week=week, version=version + 1, refusals=())
        told = {
            "week": pack(week), "version": after.version, "begun": after.begun, "timezone": week.limits.timezone,
            "refusals": "",
        }  # fmt: skip
        pipe.hset(record_name(key), mapping=cast("dict[Any, Any]", told))
        pipe.expire(record_name(key), KEEP_DAYS * DAY)
        pipe.sadd(INDEX, json.dumps([key.client, key.crew, key.week]))
        if gone:
            pipe.hdel(jobs, *gone)
        if week.jobs:
            pipe.hset(jobs, mapping={job.id: key.week for job in week.jobs})
        beside(pipe)
        return after, pipe.execute()[-1]

    def ask(self, key: WeekKey) -> int:
        """Note that a plan of the week as it is now is wanted, and return which version that is; 0 without a week."""
        version: Any = self._ask(keys=[record_name(key)])
        return int(version)

    def finish(self, kept: KeptWeek, plan: WeekPlan | None, run: Run, week: Week | None = None) -> bool:
        """Keep a run and its plan, once: not where the week has changed or been planned since ``kept``.

        ``week`` is the week with what it holds of the rack, where that is something else now.
        """
        try:
            with self.redis.pipeline() as pipe:
                return self._finished(pipe, kept, plan, run, week)
        except WatchError:
            return False

    def _finished(
        self, pipe: Pipeline, kept: KeptWeek, plan: WeekPlan | None, run: Run, week: Week | None
    ) -> bool:
        name = record_name(kept.key)
        pipe.watch(name)  # type: ignore[no-untyped-call]
        now: Any = pipe.hmget(name, "begun", "version", "night", "planned")
        same = (kept.begun, str(kept.version), kept.night.isoformat() if kept.night else "", str(kept.planned))
        if tuple((value or unset).decode() for value, unset in zip(now, (b"", b"0", b"", b"0"), strict=True)) != same:
            return False
        fields: dict[Any, Any] = {"asked": 0, "refusals": json.dumps(run.details if plan is None else ())}
        if run.night:
            fields["night"] = run.night.isoformat()
        if plan is not None:
            fields |= {"plan": pack(plan), "planned": kept.version}
        if week is not None:
            fields["week"] = pack(week)
        pipe.multi()
        pipe.hset(name, mapping=fields)
        _remember(pipe, kept.key, run)
        pipe.publish(NEWS, kept.key.digest)
        pipe.execute()
        return True

    def set_aside(self, key: WeekKey, run: Run) -> None:
        """Keep a run of a week that can't be read, once, and look after that week no more until it is put again."""
        if not self.redis.srem(INDEX, json.dumps([key.client, key.crew, key.week])):
            return
        with self.redis.pipeline() as pipe:
            if self.redis.type(record_name(key)) == b"hash":
                pipe.hset(record_name(key), "asked", 0)
            _remember(pipe, key, run)
            pipe.execute()

    def runs(self, key: WeekKey) -> tuple[Run, ...]:
        """Return the runs remembered, oldest first, but those that can't be read."""
        try:
            with reading(str(key)):
                kept = cast("list[bytes]", self.redis.lrange(_runs_name(key), 0, -1))
        except Unreadable:
            log.exception("the runs of week %s of %s can't be read", key.week, key.crew)
            return ()
        return tuple(_runs(kept))

    def forget(self, key: WeekKey, allowed: Callable[[KeptWeek], None] = lambda _: None) -> bool:
        """Remove a week, readable or not, with its jobs and its runs. ``allowed`` may raise."""
        while True:
            try:
                with self.redis.pipeline() as pipe:
                    return self._forgotten(pipe, key, allowed)
            except WatchError:
                continue

    def _forgotten(self, pipe: Pipeline, key: WeekKey, allowed: Callable[[KeptWeek], None]) -> bool:
        pipe.watch(record_name(key))  # type: ignore[no-untyped-call]
        there = bool(pipe.exists(record_name(key)))
        try:
            kept = self.fetch(key)
        except Unreadable:
            kept = None
        if kept is not None:
            allowed(kept)
        jobs = [job for job, week in _weeks_of(pipe, _jobs_name(key)).items() if week == key.week]
        pipe.multi()
        if jobs:
            pipe.hdel(_jobs_name(key), *jobs)
        pipe.delete(record_name(key), _runs_name(key))
        pipe.srem(INDEX, json.dumps([key.client, key.crew, key.week]))
        pipe.execute()
        return there


def _key_of(member: bytes) -> WeekKey:
    """Return whose week the list of weeks names. Raises ``Unreadable``."""
    with reading("an entry of the list of weeks"):
        client, crew, week = json.loads(member)
        key = WeekKey(client + "", crew + "", week)
        assert key.monday
        return key


def _weeks_of(pipe: Pipeline, jobs: str) -> dict[bytes, str]:
    """Return in which week each job of a crew is; what can't be read of that binds no job to any."""
    try:
        with reading(jobs):
            kept = cast("dict[bytes, bytes]", pipe.hgetall(jobs))
    except Unreadable:
        log.exception("in which weeks the jobs of a crew are can't be read")
        return {}
    return {job: week.decode() for job, week in kept.items() if _WEEK.fullmatch(week)}


def _begun(key: WeekKey, week: Week, version: int) -> KeptWeek:
    """Return a week as it is first kept."""
    return KeptWeek(
        key=key, week=week, version=version, plan=None, planned=0, night=None, asked=0, begun=secrets.token_hex(4)
    )


def _kept(key: WeekKey, fields: list[bytes | None]) -> KeptWeek:
    week, version, plan, planned, night, asked, begun, refusals = fields
    with reading(str(key)):
        return KeptWeek(
            key=key,
            week=unpack(week or b"", Week),
            version=int(version or 0),
            plan=_plan(key, plan),
            planned=int(planned or 0),
            night=date.fromisoformat(night.decode()) if night else None,
            asked=int(asked or 0),
            begun=_mark(begun or b""),
            refusals=tuple(map(str, json.loads(refusals or b"[]"))),
        )


def _mark(begun: bytes) -> str:
    """Return what tells a week from one put before it, which stands in its entity tag. Raises ValueError."""
    return f"{int(begun, 16):0{len(begun)}x}" if begun else ""


def _plan(key: WeekKey, kept: bytes | None) -> WeekPlan | None:
    """Return the plan of a week; one that can't be read is none, for the next night makes another."""
    try:
        return unpack(kept, WeekPlan) if kept else None
    except Unreadable:
        log.exception("the plan of week %s of %s can't be read", key.week, key.crew)
        return None


def _runs(kept: Iterable[bytes]) -> Iterator[Run]:
    for entry in kept:
        try:
            yield unpack(entry, Run)
        except Unreadable:
            log.exception("a run that is remembered can't be read")


def _remember(pipe: Pipeline, key: WeekKey, run: Run) -> None:
    pipe.rpush(_runs_name(key), pack(run))
    pipe.ltrim(_runs_name(key), -MOST_RUNS, -1)
    pipe.expire(_runs_name(key), KEEP_DAYS * DAY)


def record_name(key: WeekKey) -> str:
    """Return the key of a week's record."""
    return WEEK + key.digest


def _runs_name(key: WeekKey) -> str:
    return f"{PREFIX}week-runs:{key.digest}"


def _jobs_name(key: WeekKey) -> str:
    return f"{PREFIX}crew-jobs:{WeekKey(key.client, key.crew, '').digest}"
