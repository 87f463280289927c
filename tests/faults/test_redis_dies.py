"""Redis is killed or frozen; what was acknowledged is kept, and what can't be served is refused in words."""

from __future__ import annotations

import os
import signal

import pytest
from redis.exceptions import ConnectionError as RedisConnectionError

from tests.support.shed import SHED, shed
from tests.support.stack import Stack, eventually
from workers.keys import Keys, Scope
from workers.plans.record import State


def kill_redis(stack: Stack) -> None:
    """Kill Redis as a crash would."""
    os.kill(stack.redis.pid, signal.SIGKILL)
    eventually(lambda: not stack.redis.alive())


def test_every_acknowledged_plan_survives_a_crash_of_redis(alone: Stack) -> None:
    """Twenty plans are accepted, Redis is killed and started again: all twenty are made."""
    alone.start_worker()
    accepted = [alone.posted(shed(name=f"house {number}")) for number in range(20)]
    kill_redis(alone)
    alone.redis.start()
    states = {alone.settled(plan_id).state for plan_id in accepted}
    assert states == {State.SUCCEEDED}


def test_a_plan_in_the_making_survives_a_crash_of_redis(stubbed: Stack) -> None:
    """Redis is killed while a plan is being made and comes back: the plan goes on and is stopped as usual."""
    plan_id = stubbed.posted(shed(name="hang"))
    eventually(lambda: stubbed.record(plan_id).state is State.RUNNING)
    kill_redis(stubbed)
    stubbed.redis.start()
    assert stubbed.client.post(f"/v1/cut-plans/{plan_id}/cancel").status_code == 202
    record = stubbed.settled(plan_id)
    assert (record.state, record.has_plan) == (State.CANCELLED, True)


def test_without_redis_the_answer_is_to_come_back(alone: Stack) -> None:
    """Redis gone: 503 with Retry-After for everything that needs it, live stays live, and it recovers by itself."""
    plan_id = alone.posted(SHED)
    kill_redis(alone)
    for answer in (alone.post(SHED), alone.client.get(f"/v1/cut-plans/{plan_id}"), alone.client.get("/metrics")):
        assert (answer.status_code, answer.json["type"]) == (503, "/problems/store-away")
        assert int(answer.headers["Retry-After"]) > 0
    assert alone.client.get("/health/live").status_code == 200
    assert alone.client.get("/health/ready").json["checks"]["redis"] is False
    alone.redis.start()
    assert alone.client.get(f"/v1/cut-plans/{plan_id}").json["state"] == "queued"


def test_what_was_accepted_is_answered_though_redis_dies_that_instant(
    alone: Stack, monkeypatch: pytest.MonkeyPatch
) -> None:
    """How much of the limit is left can't be said any more; that is no fault of the request."""

    def gone(_: object) -> None:
        raise RedisConnectionError

    monkeypatch.setattr("flask_limiter.RequestLimit.remaining", property(gone))
    answer = alone.post(SHED)
    assert (answer.status_code, "RateLimit" in answer.headers) == (202, False)


def test_a_frozen_redis_does_not_freeze_the_api(alone: Stack) -> None:
    """SIGSTOP to Redis: requests are refused while it is still frozen."""
    os.kill(alone.redis.pid, signal.SIGSTOP)
    answer = alone.post(SHED)
    assert (answer.status_code, answer.json["type"]) == (503, "/problems/store-away")
    os.kill(alone.redis.pid, signal.SIGCONT)
    assert alone.post(SHED).status_code == 202


def test_a_full_redis_refuses_and_keeps(alone: Stack) -> None:
    """Redis out of memory refuses new plans in words, and nothing is evicted: what is there can be read meanwhile.

    A full disk comes to the same: also by a key whose use was to be noted, and by who is signed in.
    """
    plan_id = alone.posted(SHED)
    alone.key = Keys(alone.store.redis).add("tool", "anybody", tuple(Scope))
    browser = alone.app.test_client()
    assert browser.post("/sign-in", data={"key": alone.key}).status_code == 303
    alone.store.redis.delete("lapstock:keys-used")
    alone.store.redis.config_set("maxmemory", "1")
    refused = alone.post(SHED)
    assert (refused.status_code, "memory or its disk is full" in refused.json["detail"]) == (503, True)
    for address in (f"/v1/cut-plans/{plan_id}", "/v1/cut-plans", "/v1/materials"):
        assert alone.client.get(address).status_code == 200
    assert browser.get("/plans").status_code == 200
    assert alone.client.get("/health/ready").json["checks"]["redis"] is True
    alone.store.redis.config_set("maxmemory", "0")
    assert alone.post(SHED).status_code == 202
