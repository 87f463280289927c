"""One caller's many long plans are nobody else's wait: shares of the workers, told by the order of what is done."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any, cast

import pytest

from tests import scenario
from tests.support.shed import shed
from tests.support.stack import Stack, eventually, stack
from workers.plans.record import State
from workers.plans.store import PLAN, Ask, Store
from workers.queues import BATCH, enqueue
from workers.reaper import waiting
from workers.shares import waiting_on

KEYS = {sha256(name.encode()).hexdigest(): name for name in ("ada", "bea", "cleo")}


def posted(running: Stack, client: str, body: object, prefer: str = "") -> Any:  # noqa: ANN401
    """Return the answer to a request to plan of a client whose key is its name."""
    headers = {"Authorization": f"Bearer {client}"} | ({"Prefer": prefer} if prefer else {})
    return running.client.post("/v1/cut-plans", json=body, headers=headers)


def order_of(store: Store, queue: str) -> list[str]:
    """Return whose plans are on a queue, next first."""
    owners = [store.redis.hget(PLAN + job.rpartition("-")[0], "client") for job in waiting_on(store.redis, queue)]
    return [cast("bytes", owner).decode() for owner in owners]


def numbers_on(store: Store) -> list[int]:
    """Return the plans queued, next first, each as the number that its id stands for."""
    return [int(job.split("-")[0], 16) for job in waiting_on(store.redis, BATCH)]


@pytest.mark.parametrize("prefer", ["", "wait=1"])
def test_twenty_long_plans_of_one_client_keep_no_other_waiting(tmp_path: Path, prefer: str) -> None:
    """Every worker but the one kept back is at a long plan that never ends: the other client's small one is made.

    So are the next two, while every one of the long plans still runs or waits.
    """
    with stack(tmp_path / "data", api_keys=KEYS, longest_wait=0.1) as running:
        running.start_worker(stubbed=True)
        running.start_worker("--newcomers", stubbed=True)
        first = posted(running, "ada", shed(name="hang"), prefer).json["id"]
        eventually(lambda: running.record(first).state is State.RUNNING)
        heavy = [posted(running, "ada", shed(name="hang"), prefer).json["id"] for _ in range(19)]
        for small in ({}, {"prefer": "wait=1"}, {}):
            answer = posted(running, "bea", shed(), **small)
            assert running.settled(answer.json["id"]).state is State.SUCCEEDED
        assert [running.record(plan_id).state for plan_id in (first, *heavy)] == [State.RUNNING] + [State.QUEUED] * 19


def test_callers_take_turns_on_a_queue(alone: Stack) -> None:
    """Three of one's, then two of another's and one of a third's: round robin, each caller's own in their order."""
    for number, client in enumerate(["ada"] * 3 + ["bea"] * 2 + ["cleo", "ada"]):
        plan_id = f"{number:032x}"
        alone.store.redis.hset(PLAN + plan_id, "client", client)
        enqueue(alone.store.redis, BATCH, client, plan_id, 1, 10)
    assert order_of(alone.store, BATCH) == ["ada", "bea", "cleo", "ada", "bea", "ada", "ada"]
    assert numbers_on(alone.store) == [0, 3, 5, 1, 4, 2, 6]


def test_a_recovered_plan_goes_before_all(alone: Stack) -> None:
    """It has had its turn, and lost it by no fault of its caller."""
    for number, first in enumerate([False, False, True]):
        enqueue(alone.store.redis, BATCH, "ada", f"{number:032x}", 1, 10, first=first)
    assert numbers_on(alone.store) == [2, 0, 1]


def test_a_client_is_turned_away_for_its_own_waiting_plans_alone(tmp_path: Path) -> None:
    """Two may wait here: the third is refused and told when to come back, a repeat of the second is not, nor others."""
    with stack(tmp_path / "data", api_keys=KEYS, most_waiting=2) as running:
        again = {"Authorization": "Bearer ada", "Idempotency-Key": "second"}
        assert posted(running, "ada", shed()).status_code == 202
        assert running.client.post("/v1/cut-plans", json=shed(), headers=again).status_code == 202
        refused = posted(running, "ada", shed())
        assert (refused.status_code, refused.headers["Retry-After"]) == (503, "10")
        assert running.client.post("/v1/cut-plans", json=shed(), headers=again).status_code == 202
        assert posted(running, "bea", shed()).status_code == 202
        assert running.store.counts() == (3, 0)
        # one of them is taken off the queue, and then what is known of whose they are is damaged
        (first, *_) = waiting(running.store.redis, -1)
        assert running.store.give_up(running.record(first), State.CANCELLED)
        assert [posted(running, "ada", shed()).status_code for _ in range(2)] == [202, 503]
        running.store.redis.set("lapstock:waiting-of:ada", 1)
        assert posted(running, "ada", shed()).status_code == 202


def test_a_plan_is_taken_in_however_many_of_others_wait(alone: Stack) -> None:
    """As many commands are carried out for it by Redis with three thousand waiting as with none."""
    store, made = Store(alone.store.redis, most_waiting=1_000), []
    for number in range(2):
        alone.store.redis.config_resetstat()
        store.create(f"{number:032x}", Ask("bea", BATCH, scenario.shed()))
        statistics = alone.store.redis.info("commandstats")
        made.append(sum(told["calls"] for told in statistics.values()))
        alone.store.redis.zadd("lapstock:waiting", {f"{other:032x}": other for other in range(1_000, 4_000)})
    assert made[1] < made[0] + 20
