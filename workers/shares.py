"""Each caller's share of the workers: round robin on a queue, and one worker kept back for callers that have none.

A queue stays one list that rq takes from the front of. What comes new is put where its caller's turn is: behind as
many of every other caller's as its own caller has before it, so that whoever asks for much waits for himself alone.
Where every worker is at somebody's long plans, ``NewcomersQueue`` gives a worker what a caller waits for of whom
nothing is being made.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from typing import Any

from redis import Redis
from rq import Queue
from rq.exceptions import DequeueTimeout
from rq.job import Job as QueuedJob

from workers.connection import PREFIX
from workers.plans.store import PLAN, RUNNING, WAITING

PLACE = """
-- KEYS: queue
-- ARGV: job id
local function caller(id)
  local read, meta = pcall(cjson.decode, redis.call('HGET', 'rq:job:' .. id, 'meta') or '')
  return read and type(meta) == 'table' and type(meta.client) == 'string' and meta.client or ''
end
if redis.call('LREM', KEYS[1], -1, ARGV[1]) == 0 then return 0 end
local ours, callers, before, turn = caller(ARGV[1]), {}, {}, 1
local ids = redis.call('LRANGE', KEYS[1], 0, -1)
for n, id in ipairs(ids) do
  callers[n] = caller(id)
  if callers[n] == ours then turn = turn + 1 end
end
for n, id in ipairs(ids) do
  before[callers[n]] = (before[callers[n]] or 0) + 1
  if before[callers[n]] > turn then return redis.call('LINSERT', KEYS[1], 'BEFORE', id, ARGV[1]) end
end
return redis.call('RPUSH', KEYS[1], ARGV[1])
"""
"""Put a queued job where its caller's turn is; one that a worker has taken meanwhile stays taken."""

TAKE = """
-- KEYS: running plans, waiting plans, queue, ...
-- ARGV: beginning of a plan's key, beginning of a busy caller's key, seconds a plan must have waited
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
for n = 3, #KEYS do
  for _, id in ipairs(redis.call('LRANGE', KEYS[n], 0, -1)) do
    local plan = id:match('^(.*)%-%d+$')
    local since = plan and tonumber(redis.call('ZSCORE', KEYS[2], plan) or '')
    local client = since and since <= latest and caller(plan)
    if client and redis.call('EXISTS', ARGV[2] .. client) == 0 then
      redis.call('LREM', KEYS[n], 1, id)
      return {KEYS[n], id}
    end
  end
end
return {}
"""
"""Take the first plan that has waited a while and of whose caller none is being made, nor was a moment ago.

Between two plans of one caller nothing of his is running for an instant, and that makes him no newcomer.
"""

_BUSY = PREFIX + "busy:"
_LEAST_WAITED = 0.4
"""Seconds in which a worker of any plan would have taken it, were one free."""
_LOOK_SECONDS = 0.2


def place(redis: Redis, queue: str, job_id: str) -> None:
    """Put a job that was just queued where its caller's turn is; its ``meta`` says whose it is."""
    redis.eval(PLACE, 1, f"rq:queue:{queue}", job_id)


class NewcomersQueue(Queue):
    """A queue whose worker takes nothing but plans of callers of whom none is being made."""

    @classmethod
    def dequeue_any(
        cls,
        queues: Iterable[Queue],
        timeout: int | None,
        connection: Redis,
        *_: object,
        **found_as: Any,  # noqa: ANN401
    ) -> tuple[QueuedJob, Queue] | None:
        """Return the next job and its queue. Raises ``DequeueTimeout`` once the time is over."""
        keys = [queue.key for queue in queues]
        until = None if timeout is None else time.monotonic() + timeout
        while until is None or time.monotonic() < until:
            taken: Any = connection.eval(TAKE, 2 + len(keys), RUNNING, WAITING, *keys, PLAN, _BUSY, str(_LEAST_WAITED))
            if taken:
                found = cls._fetch_dequeued_job(connection, taken[0].decode(), taken[1].decode(), **found_as)
                if found:
                    return found
            time.sleep(_LOOK_SECONDS)
        raise DequeueTimeout(timeout, keys)
