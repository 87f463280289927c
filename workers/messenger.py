"""The messenger: calls back whoever wanted to be told that a plan is over, until told or given up.

A plan that ends is entered in Redis in the same piece. Each worker has a messenger; who takes an entry has it for as
long as a call may last, so that one whose messenger dies is taken by another. So a message may come twice, and never
not at all while the receiver can be reached within a day. A receiver that is silent holds a messenger up for as long as
a call may last; what else is due there at that moment counts as tried, so that other receivers need not wait for it.
"""

from __future__ import annotations

import json
import logging
import time
from threading import Event, Thread
from typing import Any

from redis import Redis
from redis.exceptions import RedisError

from workers import PREFIX
from workers.callbacks import SECONDS, Barred, Failed, Rules, Silent, call, origin_of
from workers.connection import UNREACHABLE
from workers.orders.particulars import Act
from workers.plans.record import Record
from workers.plans.scripts import CALLBACKS
from workers.plans.store import Store

PAUSES = (5, 30, 120, 600, 1_800, 7_200, 21_600, 43_200)
"""Seconds from each try to the next; after the last one it is given up."""
_TRIES = PREFIX + "callback-tries"
_LOOK_SECONDS = 0.5
LEFT_ALONE_SECONDS = 4.0
"""So long a receiver that was silent is not called: less than the first pause, so one message has all its tries."""
GONE = 410
"""A receiver that answers this wants to hear no more of it."""
_TAKE = """
-- KEYS: callbacks, tries
-- ARGV: seconds for which it is taken
local now = tonumber(redis.call('TIME')[1])
local id = redis.call('ZRANGEBYSCORE', KEYS[1], '-inf', now, 'LIMIT', 0, 1)[1]
if not id then return false end
redis.call('ZADD', KEYS[1], now + ARGV[1], id)
local tries = redis.pcall('HINCRBY', KEYS[2], id, 1)
if type(tries) ~= 'number' then
  if redis.call('TYPE', KEYS[2]).ok ~= 'hash' then redis.call('DEL', KEYS[2]) end
  redis.call('HSET', KEYS[2], id, 1)
  tries = 1
end
return {id, tries}
"""
"""Take what is due and count the try, from 1 where the count is damaged.

It is due again if nobody says what became of it.
"""
log = logging.getLogger(__name__)


class Messenger:
    """A thread that calls back until stopped."""

    def __init__(self, redis: Redis, rules: Rules) -> None:
        self._store = Store(redis)
        self._rules = rules
        self._take = redis.register_script(_TAKE)
        self._silent: dict[str, float] = {}
        self._over = Event()
        self._thread = Thread(target=self._run, name="messenger", daemon=True)

    def start(self) -> None:
        """Begin, if anybody may be called at all."""
        if self._rules.origins:
            self._thread.start()

    def stop(self) -> None:
        """Make no further call."""
        self._over.set()

    def _run(self) -> None:
        while not self._over.wait(_LOOK_SECONDS):
            try:
                while not self._over.is_set() and self.deliver():
                    pass
            except RedisError:
                log.warning("no Redis to ask who is to be called back")
            except Exception:
                # the entry it was at comes up again
                log.exception("a callback could not be made")

    def deliver(self) -> bool:
        """Make one call that is due; returns whether there was one."""
        taken: Any = self._take(keys=[CALLBACKS, _TRIES], args=[3 * SECONDS])
        if taken:
            plan_id, tries = taken[0].decode(errors="replace"), int(taken[1])
            try:
                self._tell(plan_id, tries)
            except UNREACHABLE:
                raise
            except Exception:
                if tries <= len(PAUSES):
                    raise
                log.exception("plan %s: its callback is given up", plan_id)
                self._done(plan_id)
        return bool(taken)

    def _tell(self, plan_id: str, tries: int) -> None:
        record = self._store.fetch(plan_id)
        if record is None or not record.callback:
            self._done(plan_id)
            return
        became, over = self._called(record)
        if over or tries > len(PAUSES):
            act = Act.TOLD if over and became.startswith("2") else Act.NOT_TOLD
            self._store.note(plan_id, "", "", act, f"{became}, at try {tries}")
            self._done(plan_id)
            return
        log.warning("plan %s: its callback failed (%s), try %d", plan_id, became, tries)
        self._store.redis.zadd(CALLBACKS, {plan_id: self._store.redis.time()[0] + PAUSES[tries - 1]})

    def _called(self, record: Record) -> tuple[str, bool]:
        """Call and return what became of it, and whether that is the end of it."""
        body = message(record)
        headers = self._rules.signed(record.client, f"{record.id}-over", int(time.time()), body)
        try:
            origin = origin_of(record.callback)
            if time.monotonic() < self._silent.get(origin, 0):
                return "it was silent a moment ago", False
            status = call(self._rules, record.callback, headers, body)
        except Barred as barred:
            return str(barred), True
        except Silent as silent:
            self._silent[origin] = time.monotonic() + LEFT_ALONE_SECONDS
            return str(silent), False
        except Failed as failed:
            return str(failed), False
        return str(status), 200 <= status < 300 or status == GONE

    def _done(self, plan_id: str) -> None:
        self._store.redis.zrem(CALLBACKS, plan_id)
        self._store.redis.hdel(_TRIES, plan_id)


def message(record: Record) -> bytes:
    """Return what is posted: that a plan is over and how it ended, and nothing of what is in it."""
    told = {"id": record.id, "number": record.number, "state": record.state, "ref": record.particulars.ref}
    ended = record.finished_at.isoformat(timespec="milliseconds").replace("+00:00", "Z") if record.finished_at else None
    return json.dumps({"type": "cut_plan.over", "timestamp": ended, "data": told}, separators=(",", ":")).encode()
