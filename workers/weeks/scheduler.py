"""The scheduler: sees that every crew's week is planned every night, once, and at once where somebody asks for it.

It may run anywhere and as often as one likes: a job has an id that follows from the week, the night and how often it
was tried, and the queue takes an id once. What has been planned is known from the week itself, so that a finished
job is not queued again, and after an outage each week is planned once, for the last night. A week whose worker or
host went away (its lease has expired) is tried again; one whose own process died under a living worker, once more.
"""

from __future__ import annotations

import logging
from datetime import UTC, date, datetime
from typing import cast

from redis import Redis
from rq import Queue
from rq.exceptions import DuplicateJobError
from rq.serializers import JSONSerializer

from solver.weekly.moment import night_due
from solver.weekly.planning import SECONDS
from workers import PREFIX
from workers.codec import Unreadable, reading
from workers.connection import UNREACHABLE
from workers.plans.record import MOST_DEATHS, MOST_TRIES
from workers.plans.store import DAY
from workers.process import LEASE_SECONDS
from workers.queues import GRACE_SECONDS, WEEK_TASK
from workers.shares import BATCH, WEEKS, place, queue_key
from workers.week_tasks import TRIES, give_up_unreadable, lease_name, wanted
from workers.weeks.record import Waiting, WeekKey, failed_run
from workers.weeks.store import WeekStore

_WEEK = "week-"
"""How the ids of weeks' jobs begin."""
_DEATHS = PREFIX + "week-deaths:"
log = logging.getLogger(__name__)


def schedule(store: WeekStore, now: datetime | None = None) -> int:
    """Queue the plan of every week whose night is due or that somebody asked for, and return how many were queued."""
    queued = 0
    for key in store.every_key():
        try:
            queued += _schedule(store, key, now or datetime.now(UTC))
        except Unreadable:
            moment = now or datetime.now(UTC)
            give_up_unreadable(store, key, moment.date(), moment)
        except UNREACHABLE:
            raise
        except Exception:
            # one crew's bad data must not keep the others from their plans
            log.exception("week %s of %s could not be checked on", key.week, key.crew)
    return queued


def _schedule(store: WeekStore, key: WeekKey, now: datetime) -> int:
    waiting = store.waiting(key)
    if waiting is None:
        store.forget(key)
        return 0
    night = night_due(waiting.timezone, key.monday, now)
    due = night is not None and wanted(waiting, night)
    return _queue(store, waiting, night if due else None, now) if due or waiting.asked else 0


def enqueue_asked(store: WeekStore, key: WeekKey) -> None:
    """Queue the plan of a week that somebody asked for, ahead of the nights."""
    waiting = store.waiting(key)
    if waiting is not None and waiting.asked:
        _queue(store, waiting, None, datetime.now(UTC))


def _queue(store: WeekStore, waiting: Waiting, night: date | None, now: datetime) -> int:
    key = waiting.key
    what = f"a{waiting.asked}" if night is None else f"n{night:%Y%m%d}"
    run = f"{key.digest}-{what}"
    tries = _tries(store.redis, key, run)
    if _deaths(store.redis, run) >= MOST_DEATHS or tries >= MOST_TRIES:
        _give_up(store, key, night, now)
        return 0
    try:
        # what a dead worker left has had its turn, and lost it by no fault of its crew
        _enqueue(store.redis, key, night, f"{_WEEK}{run}-{tries}", first=tries > 0)
    except DuplicateJobError:
        return 0
    return 1


def _enqueue(redis: Redis, key: WeekKey, night: date | None, job_id: str, *, first: bool) -> None:
    queue = BATCH if night is None else WEEKS
    Queue(queue, connection=redis, serializer=JSONSerializer).enqueue_call(
        WEEK_TASK,
        args=(key.client, key.crew, key.week, night.isoformat() if night else None),
        job_id=job_id,
        timeout=int(TRIES * SECONDS) + GRACE_SECONDS,
        result_ttl=0,
        failure_ttl=DAY,
        unique=True,
        meta={"client": key.client},
    )
    place(redis, queue, job_id, first=first)


def count_death(redis: Redis, job_id: str) -> None:
    """Count that a process died under a living worker, if it was planning a week: the week may be what killed it."""
    if job_id.startswith(_WEEK):
        run, _, _ = job_id.removeprefix(_WEEK).rpartition("-")
        redis.incr(_DEATHS + run)
        redis.expire(_DEATHS + run, DAY)


def _deaths(redis: Redis, run: str) -> int:
    with reading(_DEATHS + run):
        return int(cast("bytes | None", redis.get(_DEATHS + run)) or 0)


def _tries(redis: Redis, key: WeekKey, run: str) -> int:
    """Return how often this run has lost its process, one more if the last one to take it is gone."""
    name = f"{PREFIX}week-tries:{run}"
    with reading(name):
        tries = int(cast("bytes | None", redis.get(name)) or 0)
        lost = _lost(redis, key, f"{_WEEK}{run}-{tries}")
    if lost:
        log.warning("week %s of %s has lost its worker", key.week, key.crew)
        tries += 1
        redis.set(name, tries, ex=DAY)
    return tries


def _lost(redis: Redis, key: WeekKey, job_id: str) -> bool:
    """Whether a job has been taken off its queue and nobody has shown life for a lease's time.

    A job is taken off its queue before its lease is taken, so one look is not enough.
    """
    silent = f"{PREFIX}week-silent:{job_id}"
    on_queue = any(redis.zscore(queue_key(queue), job_id) is not None for queue in (BATCH, WEEKS))
    # a lease of more seconds than there are was given before the clock was set back
    held = 0 <= redis.ttl(lease_name(key)) <= LEASE_SECONDS
    if not redis.exists(f"rq:job:{job_id}") or on_queue or held:
        redis.delete(silent)
        return False
    now = redis.time()[0]
    redis.set(silent, now, nx=True, ex=DAY)
    return abs(now - int(cast("bytes | None", redis.get(silent)) or now)) >= LEASE_SECONDS


def _give_up(store: WeekStore, key: WeekKey, night: date | None, now: datetime) -> None:
    kept = store.fetch(key)
    if kept is None:
        return
    bill = kept.plan.bill if kept.plan else None
    detail = f"Whatever planned this died {MOST_DEATHS} times or more, perhaps for lack of memory; divide the week."
    store.finish(kept, None, failed_run(now, night, detail, bill))
