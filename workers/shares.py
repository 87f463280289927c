"""Who is next: callers take turns on a queue, one worker is kept back for newcomers, nights come after the day.

A queue is a sorted set by rounds, in each of which every caller has one job, so that whoever asks for much waits for
himself alone. rq pushes what is new on a list of its own, from where it is placed at once. Where every worker is at
somebody's long plans, ``NewcomersQueue`` gives a worker what a caller waits for of whom nothing is being made. Crews'
nights are taken where nothing of the day waits, and by day not by all workers at once; one that is being planned gives
way where something of the day waits and nobody takes it.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from typing import Any, cast

from redis import Redis
from rq import Queue
from rq.exceptions import DequeueTimeout
from rq.job import Job as QueuedJob

from workers import PREFIX
from workers.plans.store import DAY, PLAN, RUNNING, WAITING
from workers.process import ALIVE_SECONDS, LEASE_SECONDS

INTERACTIVE = "interactive"
BATCH = "batch"
WEEKS = "weeks"
QUEUES = (INTERACTIVE, BATCH, WEEKS)
"""In the order in which workers look at them."""
WORKERS = PREFIX + "workers"
"""Who works, by the second at which each was last seen."""
INTERACTIVE_ONLY = "interactive:"
"""How the name of a worker begins that takes interactive requests alone."""
NEWCOMERS_ONLY = "newcomers:"
"""How the name of a worker begins that is kept back for callers of whom nothing is being made."""
NIGHTS = PREFIX + "nights"
"""The weeks whose night is being planned, by the second until which that is believed."""
DAYTIME = PREFIX + "daytime"
"""Stands as long as it is day: somebody asked for something within the last ``DAYTIME_SECONDS``."""
DAYTIME_SECONDS = 600
MOST_YIELDS = 5
"""So often a night gives way before it is planned to its end, whoever waits."""

_PLACING = """
local function caller(id)
  local kept = redis.pcall('HGET', 'rq:job:' .. id, 'meta')
  local read, meta = pcall(cjson.decode, type(kept) == 'string' and kept or '')
  return read and type(meta) == 'table' and type(meta.client) == 'string' and meta.client or ''
end
local function place(list, queue, turns, id, first)
  if redis.call('LREM', list, first and 1 or -1, id) == 0 then return 0 end
  local head = redis.call('ZRANGE', queue, 0, 0, 'WITHSCORES')
  if not head[1] then redis.call('DEL', turns) end
  local round = math.floor(head[2] or 0)
  if first then return redis.call('ZADD', queue, round - 1, id) end
  local field = 'of ' .. caller(id)
  local last = tonumber(redis.call('HGET', turns, field) or '')
  if last and last >= round then round = last + 1 end
  redis.call('HSET', turns, field, round)
  return redis.call('ZADD', queue, round + redis.call('HINCRBY', turns, 'count', 1) / 2147483648, id)
end
"""
"""The first round is that of the head; a caller's next job is in the round after its last, in order of arrival there.

Whether anybody has had a turn is forgotten with the last job on a queue.
"""

PLACE = _PLACING + """
-- KEYS: rq's list, queue, turns, daytime
-- ARGV: job id, '1' where it goes before all, seconds for which it is day then
if ARGV[3] ~= '0' then redis.call('SET', KEYS[4], '1', 'EX', ARGV[3]) end
return place(KEYS[1], KEYS[2], KEYS[3], ARGV[1], ARGV[2] == '1')
"""
"""Put a queued job where its caller's turn is; one that a worker has taken meanwhile stays taken."""

TAKE = _PLACING + """
-- KEYS: nights, workers, daytime, then rq's list, queue and turns of each queue
-- ARGV: queue of the nights, seconds for which a night is believed in, seconds for which a worker is,
--       beginnings of the names of workers kept back
local now = tonumber(redis.call('TIME')[1])
local function kept_back(name)
  for n = 4, #ARGV do if name:sub(1, #ARGV[n]) == ARGV[n] then return true end end
end
local function room_for_a_night()
  redis.call('ZREMRANGEBYSCORE', KEYS[1], '-inf', now)
  -- what is later was entered before the clock was set back
  redis.call('ZREMRANGEBYSCORE', KEYS[1], now + 2 * ARGV[2], '+inf')
  local workers = 0
  for _, name in ipairs(redis.call('ZRANGEBYSCORE', KEYS[2], now - ARGV[3], now + ARGV[3])) do
    if not kept_back(name) then workers = workers + 1 end
  end
  return redis.call('ZCARD', KEYS[1]) < math.max(1, workers - redis.call('EXISTS', KEYS[3]))
end
for n = 4, #KEYS, 3 do
  local list, queue, turns = KEYS[n], KEYS[n + 1], KEYS[n + 2]
  for _, id in ipairs(redis.call('LRANGE', list, 0, 99)) do place(list, queue, turns, id) end
  local night = queue == ARGV[1]
  if redis.call('EXISTS', queue) == 1 and (not night or room_for_a_night()) then
    local id = redis.call('ZPOPMIN', queue)[1]
    if night then redis.call('ZADD', KEYS[1], now + ARGV[2], id:match('^week%-(%x+)%-') or id) end
    return {list, id}
  end
end
return {}
"""
"""Take the next job; of the nights only where a worker is left for the day, if it is day and there are two or more.

What another version left on rq's list is placed before.
"""

TAKE_NEWCOMERS = """
-- KEYS: running plans, waiting plans, then rq's list and queue of each queue
-- ARGV: beginning of a plan's key, beginning of a busy caller's key, seconds a plan must have waited, jobs looked at
local function caller(plan)
  local client = redis.pcall('HGET', ARGV[1] .. plan, 'client')
  return type(client) == 'string' and client
end
for _, plan in ipairs(redis.call('ZRANGE', KEYS[1], 0, -1)) do
  local client = caller(plan)
  if client then redis.call('SET', ARGV[2] .. client, '1', 'PX', 1000) end
end
local now = redis.call('TIME')
local latest = now[1] + now[2] / 1000000 - ARGV[3]
for n = 3, #KEYS, 2 do
  for _, id in ipairs(redis.call('ZRANGE', KEYS[n + 1], 0, ARGV[4])) do
    local plan = id:match('^(.*)%-%d+$')
    local since = plan and tonumber(redis.call('ZSCORE', KEYS[2], plan) or '')
    local client = since and since <= latest and caller(plan)
    if client and redis.call('EXISTS', ARGV[2] .. client) == 0 then
      redis.call('ZREM', KEYS[n + 1], id)
      return {KEYS[n], id}
    end
  end
end
return {}
"""
"""Take the first plan that has waited a while and of whose caller none is being made, nor was a moment ago.

Between two plans of one caller nothing of his is running for an instant, and that makes him no newcomer. Every caller
that waits has a plan among the first on a queue, so that not all need be looked at.
"""

_BUSY = PREFIX + "busy:"
_LEAST_WAITED = 0.4
"""Seconds in which a worker of any plan would have taken it, were one free."""
_LOOK_SECONDS = 0.2
_LOOKED_AT = 1_000
_PAUSE_SECONDS = 0.5
"""How often an idle worker looks for nights; what is of the day wakes it."""


def queue_key(queue: str) -> str:
    """Return the name of the sorted set that is a queue."""
    return f"{PREFIX}queue:{queue}"


def place(redis: Redis, queue: str, job_id: str, *, first: bool = False) -> None:
    """Put a job that was just pushed where its caller's turn is, or before all; its ``meta`` says whose it is."""
    redis.eval(PLACE, 4, *_keys(queue), DAYTIME, job_id, int(first), 0 if queue == WEEKS else DAYTIME_SECONDS)


def waiting_on(redis: Redis, queue: str, most: int = 0) -> list[str]:
    """Return the jobs on a queue, next first, ``most`` of them at most unless that is 0."""
    jobs = cast("list[bytes]", redis.zrange(queue_key(queue), 0, most - 1))
    return [job.decode(errors="replace") for job in jobs]


def _list(queue: str) -> str:
    return f"rq:queue:{queue}"


def _keys(queue: str) -> tuple[str, str, str]:
    return _list(queue), queue_key(queue), f"{PREFIX}turns:{queue}"


class FairQueue(Queue):
    """A queue of which a worker takes what is next."""

    @classmethod
    def dequeue_any(
        cls,
        queues: Iterable[Queue],
        timeout: int | None,
        connection: Redis,
        *_: object,
        **found_as: Any,  # noqa: ANN401
    ) -> tuple[QueuedJob, Queue] | None:
        """Return the next job and its queue. Raises ``DequeueTimeout`` once the time, if any, is over."""
        names = [queue.name for queue in queues]
        until = None if timeout is None else time.monotonic() + timeout
        while until is None or time.monotonic() < until:
            if taken := cls.take(connection, names):
                found = cls._fetch_dequeued_job(connection, *taken, **found_as)
                if found:
                    return found
        raise DequeueTimeout(timeout, names)

    @classmethod
    def take(cls, redis: Redis, queues: Sequence[str]) -> tuple[str, str] | None:
        """Return rq's name of a queue and what was taken of it, None where nothing came within a moment."""
        keys = [key for queue in queues for key in _keys(queue)]
        told: list[Any] = [queue_key(WEEKS), LEASE_SECONDS, ALIVE_SECONDS, INTERACTIVE_ONLY, NEWCOMERS_ONLY]
        taken: Any = redis.eval(TAKE, 3 + len(keys), NIGHTS, WORKERS, DAYTIME, *keys, *told)
        if taken:
            return taken[0].decode(), taken[1].decode()
        of_the_day = {queue_key(queue): _list(queue) for queue in queues if queue != WEEKS}
        came: Any = redis.bzpopmin([*of_the_day], _PAUSE_SECONDS)
        return (of_the_day[came[0].decode()], came[1].decode()) if came else None


class NewcomersQueue(FairQueue):
    """A queue whose worker takes nothing but plans of callers of whom none is being made."""

    @classmethod
    def take(cls, redis: Redis, queues: Sequence[str]) -> tuple[str, str] | None:
        """Return rq's name of a queue and what was taken of it, None where nothing came within a moment."""
        keys = [key for queue in queues for key in (_list(queue), queue_key(queue))]
        told: list[Any] = [PLAN, _BUSY, str(_LEAST_WAITED), _LOOKED_AT]
        taken: Any = redis.eval(TAKE_NEWCOMERS, 2 + len(keys), RUNNING, WAITING, *keys, *told)
        if taken:
            return taken[0].decode(), taken[1].decode()
        time.sleep(_LOOK_SECONDS)
        return None


class Night:
    """The place among the workers of a week whose night is being planned; ``week`` is the digest of its key."""

    def __init__(self, redis: Redis, week: str) -> None:
        self._redis, self._week = redis, week
        self._waited: set[str] = set()
        self._decided = False

    def must_yield(self) -> bool:
        """Keep the place, and return whether it is to be given up now: what waits of the day waited the last time."""
        now = self._redis.time()[0]
        self._redis.zadd(NIGHTS, {self._week: now + LEASE_SECONDS}, xx=True)
        before, self._waited = self._waited, set(waiting_on(self._redis, INTERACTIVE, 20))
        self._waited |= set(waiting_on(self._redis, BATCH, 20))
        if self._decided or not before & self._waited:
            return False
        self._decided = True
        yields = self._redis.incr(self._yields)
        self._redis.expire(self._yields, DAY)
        return yields <= MOST_YIELDS

    def end(self, *, yielded: bool) -> None:
        """Give the place up."""
        self._redis.zrem(NIGHTS, self._week)
        if not yielded:
            self._redis.delete(self._yields)

    @property
    def _yields(self) -> str:
        return f"{PREFIX}week-yields:{self._week}"
