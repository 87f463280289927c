"""The store of crews' weeks in Redis. Changes are compared and set by version, so no late writer undoes another."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any, cast

from redis import Redis
from redis.client import Pipeline
from redis.exceptions import WatchError

from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week
from workers.codec import pack, unpack
from workers.store import DAY, PREFIX
from workers.week_record import KeptWeek, Run, Waiting, WeekKey

WEEK = PREFIX + "week:"
INDEX = PREFIX + "weeks"
KEEP_DAYS = 120
"""A week is kept so long after its last change."""
MOST_RUNS = 500
"""Runs remembered of one week."""
_FIELDS = ("week", "version", "plan", "planned", "night", "asked")


class JobElsewhere(Exception):
    """A job of this id is in another week of the same crew, named by the error's text."""


class WeekStore:
    """Crews' weeks, found by client, crew and week."""

    def __init__(self, redis: Redis) -> None:
        self.redis = redis

    def fetch(self, key: WeekKey) -> KeptWeek | None:
        """Return what is kept of a week, or None."""
        kept: Any = self.redis.hmget(_name(key), _FIELDS)
        return _kept(key, kept) if kept[0] else None

    def every_key(self) -> Iterator[WeekKey]:
        """Yield every week kept, in a fixed order."""
        for member in sorted(cast("set[bytes]", self.redis.smembers(INDEX))):
            yield WeekKey(*json.loads(member))

    def waiting(self, key: WeekKey) -> Waiting | None:
        """Return what says whether a week is to be planned, or None where it is not kept any more."""
        kept: Any = self.redis.hmget(_name(key), "timezone", "night", "asked")
        if kept[0] is None:
            return None
        night = date.fromisoformat(kept[1].decode()) if kept[1] else None
        return Waiting(key, kept[0].decode(), night, int(kept[2] or 0))

    def change(self, key: WeekKey, how: Callable[[Week | None], Week]) -> KeptWeek:
        """Change a week, or begin it, however many others do so at the same time; ``how`` may be called again.

        Raises ``JobElsewhere`` where a job of the week has come to be in another week of the crew.
        """
        while True:
            try:
                with self.redis.pipeline() as pipe:
                    return self._changed(pipe, key, how)
            except WatchError:
                continue

    def _changed(self, pipe: Pipeline, key: WeekKey, how: Callable[[Week | None], Week]) -> KeptWeek:
        jobs = _jobs_name(key)
        pipe.watch(_name(key), jobs)  # type: ignore[no-untyped-call]
        kept: Any = pipe.hmget(_name(key), _FIELDS)
        before = _kept(key, kept) if kept[0] else None
        week = how(before.week if before else None)
        elsewhere = cast("dict[bytes, bytes]", pipe.hgetall(jobs))
        for job in week.jobs:
            other = elsewhere.get(job.id.encode(), key.week.encode()).decode()
            if other != key.week:
                raise JobElsewhere(f"{job.id} is in {other} already; withdraw it there first")
        version = (before.version if before else 0) + 1
        gone = [job.id for job in (before.week.jobs if before else ()) if job.id not in {j.id for j in week.jobs}]
        pipe.multi()
        pipe.hset(_name(key), mapping={"week": pack(week), "version": version, "timezone": week.limits.timezone})
        pipe.expire(_name(key), KEEP_DAYS * DAY)
        pipe.sadd(INDEX, json.dumps([key.client, key.crew, key.week]))
        if gone:
            pipe.hdel(jobs, *gone)
        if week.jobs:
            pipe.hset(jobs, mapping={job.id: key.week for job in week.jobs})
        pipe.execute()
        kept_after = self.fetch(key)
        assert kept_after is not None
        return kept_after

    def ask(self, key: WeekKey) -> int:
        """Note that a plan of the week as it is now is wanted, and return the version it is wanted of."""
        version = int(cast("bytes", self.redis.hget(_name(key), "version") or b"0"))
        self.redis.hset(_name(key), "asked", version)
        return version

    def finish(self, kept: KeptWeek, plan: WeekPlan | None, run: Run) -> bool:
        """Keep a run and its plan, once: not where the week has changed or been planned since ``kept``."""
        try:
            with self.redis.pipeline() as pipe:
                return self._finished(pipe, kept, plan, run)
        except WatchError:
            return False

    def _finished(self, pipe: Pipeline, kept: KeptWeek, plan: WeekPlan | None, run: Run) -> bool:
        name = _name(kept.key)
        pipe.watch(name)  # type: ignore[no-untyped-call]
        now: Any = pipe.hmget(name, "version", "night", "planned")
        same = (kept.version, kept.night.isoformat() if kept.night else "", kept.planned)
        if (int(now[0] or 0), (now[1] or b"").decode(), int(now[2] or 0)) != same:
            return False
        fields: dict[Any, Any] = {"asked": 0}
        if run.night:
            fields["night"] = run.night.isoformat()
        if plan is not None:
            fields |= {"plan": pack(plan), "planned": kept.version}
        pipe.multi()
        pipe.hset(name, mapping=fields)
        pipe.rpush(_runs_name(kept.key), pack(run))
        pipe.ltrim(_runs_name(kept.key), -MOST_RUNS, -1)
        pipe.expire(_runs_name(kept.key), KEEP_DAYS * DAY)
        pipe.execute()
        return True

    def runs(self, key: WeekKey) -> tuple[Run, ...]:
        """Return the runs remembered, oldest first."""
        kept = cast("list[bytes]", self.redis.lrange(_runs_name(key), 0, -1))
        return tuple(unpack(entry, Run) for entry in kept)

    def forget(self, key: WeekKey) -> bool:
        """Remove a week and its jobs; its runs stay for their time."""
        kept = self.fetch(key)
        if kept is None:
            self.redis.srem(INDEX, json.dumps([key.client, key.crew, key.week]))
            return False
        with self.redis.pipeline() as pipe:
            if kept.week.jobs:
                pipe.hdel(_jobs_name(key), *[job.id for job in kept.week.jobs])
            pipe.delete(_name(key))
            pipe.srem(INDEX, json.dumps([key.client, key.crew, key.week]))
            pipe.execute()
        return True


def _kept(key: WeekKey, fields: list[bytes | None]) -> KeptWeek:
    week, version, plan, planned, night, asked = fields
    return KeptWeek(
        key,
        unpack(week or b"", Week),
        int(version or 0),
        unpack(plan, WeekPlan) if plan else None,
        int(planned or 0),
        date.fromisoformat(night.decode()) if night else None,
        int(asked or 0),
    )


def _name(key: WeekKey) -> str:
    return WEEK + key.digest


def _runs_name(key: WeekKey) -> str:
    return f"{PREFIX}week-runs:{key.digest}"


def _jobs_name(key: WeekKey) -> str:
    return f"{PREFIX}crew-jobs:{WeekKey(key.client, key.crew, '').digest}"
